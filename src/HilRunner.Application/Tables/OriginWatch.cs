using System.Globalization;
using HilRunner.Core.Capture;
using HilRunner.Core.Runs;
using HilRunner.Core.Time;

namespace HilRunner.Application.Tables;

/// <summary>Finds in a run's capture when its time begins.</summary>
internal sealed class OriginWatch(JobContext context, string folder) : IDisposable
{
    private static readonly TimeSpan s_look = TimeSpan.FromMilliseconds(20);
    private ICaptureReader? _capture;

    public void Dispose() => _capture?.Dispose();

    /// <returns>On this process's clock; null: the run was over before.</returns>
    public async Task<HostTime?> FoundAsync(Task playing, CancellationToken stop)
    {
        string path = Path.Combine(folder, RunFiles.Capture);
        while (!playing.IsCompleted)
        {
            if (_capture is null && File.Exists(path)) { _capture = context.Captures.Open(path); }
            while (_capture is not null && _capture.TryRead(out CaptureRecord record))
            {
                if (record.Event is { Name: RunEventNames.Origin } began) { return new(long.Parse(began.Details["unix_ns"],
                    CultureInfo.InvariantCulture) - context.Clock.UnixAtZeroNs); }
            }
            await Task.Delay(s_look, context.Clock.Provider, stop).ConfigureAwait(false);
        }
        return null;
    }
}
