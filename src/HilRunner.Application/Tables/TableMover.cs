using System.Globalization;
using HilRunner.Application.Batches;
using HilRunner.Core.Runs;
using HilRunner.Core.Shakers;
using HilRunner.Engine.Shaking;

namespace HilRunner.Application.Tables;

/// <summary>Plays one run's motion on the table, at its time of the run, and keeps what the table was told and measured in the run's folder.</summary>
internal sealed class TableMover(JobContext context, TableRun table, TableItem item, string folder) : IMover
{
    private readonly OriginWatch _origin = new(context, folder);
    // Made before the device's run begins: of a long motion it takes a while.
    private readonly (TableMotion Sent, bool Equalised, double? Gain) _made = table.Equalised(item);

    // When the motion's time 0 is, on the host's clock, in ns; 0: it has not begun.
    private long _began;

    public string Now
    {
        get
        {
            long began = Interlocked.Read(ref _began);
            if (began == 0) { return "the table waits"; }
            double s = (context.Clock.Now.Ns - began) / 1e9,
                left = item.Built.Motion.Length.TotalSeconds - item.Built.Motion.LeadTime.TotalSeconds - s;
            if (left <= 0) { return "the table rests"; }
            long at = (long)(s * 1e9);
            string of = item.Stimulus.Reference.FirstOrDefault(r => r.Start.Ns <= at && r.End.Ns > at)?.Class is { } name
                ? $", {name}" : "";
            return string.Create(CultureInfo.InvariantCulture,
                $"the table: {table.LatestG:0.00} g{of}, {left:0} s left");
        }
    }

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
                measured = await table.Drive.PlayAsync(table.Streamed(item, sent, equalised), origin + StreamDrive.Filling, at =>
                {
                    late = (at - origin - StreamDrive.Filling.Ticks * 100) / 1e9;
                    Interlocked.Exchange(ref _began, at.Ns + item.Built.Motion.LeadTime.Ticks * 100);
                }, ended.Token).ConfigureAwait(false);
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
