using System.Runtime.InteropServices;

namespace HilRunner.Cli;

/// <summary>
/// A terminal that is closed (SIGHUP) interrupts as SIGTERM does: a run is concluded and reported. Where whoever started this
/// program wants it to outlive the terminal (nohup), it does.
/// </summary>
internal sealed class HangUp : IDisposable
{
    private readonly CancellationTokenSource _source = new();
    private readonly PosixSignalRegistration? _registration;
    private readonly TimeSpan _tidyUp;
    private ITimer? _limit;

    /// <param name="tidyUp">How long what was interrupted may take to end.</param>
    public HangUp(TimeSpan tidyUp)
    {
        _tidyUp = tidyUp;
        if (!OperatingSystem.IsWindows() && !IsIgnored())
        {
            _registration = PosixSignalRegistration.Create(PosixSignal.SIGHUP, Interrupt);
        }
    }

    public CancellationToken Token => _source.Token;

    public void Dispose()
    {
        _registration?.Dispose();
        _limit?.Dispose();
        _source.Dispose();
    }

    private void Interrupt(PosixSignalContext context)
    {
        context.Cancel = true;
        _limit ??= Composition.Clock.Provider.CreateTimer(
            _ => Environment.Exit(ExitCodes.Interrupted), null, _tidyUp, Timeout.InfiniteTimeSpan);
        _source.Cancel();
    }

    /// <summary>As it was when this program began (Linux: the mask SigIgn of /proc/self/status, bit 0 for signal 1).</summary>
    private static bool IsIgnored()
    {
        try
        {
            return File.ReadLines("/proc/self/status")
                .FirstOrDefault(l => l.StartsWith("SigIgn:", StringComparison.Ordinal)) is { } mask
                && (Convert.ToUInt64(mask[7..].Trim(), 16) & 1) != 0;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException or FormatException) { return false; }
    }
}
