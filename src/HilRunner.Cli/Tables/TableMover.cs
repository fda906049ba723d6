using HilRunner.Cli.Runs;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Shaking;

namespace HilRunner.Cli.Tables;

/// <summary>Plays one run's motion on the table, at its time of the run, and keeps what the table was told and measured in the run's folder.</summary>
internal sealed class TableMover(TableRun table, TableItem item, string folder) : IMover
{
    private readonly OriginWatch _origin = new(folder);
    // Made before the device's run begins: of a long motion it takes a while.
    private readonly (TableMotion Sent, bool Equalised, double? Gain) _made = table.Equalised(item);

    public async Task<(string Cause, string Message)> RunAsync(Task<(string Cause, string Message)> playing, Action end)
    {
        var (sent, equalised, gain) = _made;
        string record = Path.Combine(folder, RunFiles.TableRecord);
        item.Record(null, gain, equalised, null).Write(record);
        using var ended = CancellationTokenSource.CreateLinkedTokenSource(table.Stopped);
        _ = playing.ContinueWith(_ => ended.Cancel(), CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously, TaskScheduler.Default);
        double[] measured = [];
        double? late = null;
        try
        {
            if (await _origin.FoundAsync(playing, ended.Token).ConfigureAwait(false) is { } origin)
            {
                measured = await table.Drive.PlayAsync(sent, origin + StreamDrive.Filling, at => late = (at - origin - StreamDrive.Filling.Ticks * 100) / 1e9, ended.Token).ConfigureAwait(false);
            }
        }
        catch (OperationCanceledException)
        {
            // The device's run ended while the table moved.
            measured = table.MeasuredG;
            table.Rest();
        }
        catch (ShakerException fault)
        {
            measured = table.MeasuredG;
            table.Stop(fault);
            end();
        }
        item.Record(late, gain, equalised, table.Fault?.Message).Write(record);
        TableMotionFile.Write(Path.Combine(folder, RunFiles.TableMotion), StreamDrive.Filling.TotalSeconds, sent.Rate.Hertz, item.Built.Motion.ToldG(), measured);
        return await playing.ConfigureAwait(false);
    }

    public void Dispose() => _origin.Dispose();
}
