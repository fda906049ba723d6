using System.Diagnostics;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>
/// Holds a lock file (flock(1)) while a pair of blocks is measured, on machines where others who build take it too. Without a file it
/// holds nothing.
/// </summary>
internal sealed class QuietMachine : IDisposable
{
    private readonly Process? _holder;

    public QuietMachine(string? lockFile)
    {
        if (lockFile is null) { return; }
        var start = new ProcessStartInfo("flock", [lockFile, "sh", "-c", "echo held; exec cat"]) { RedirectStandardInput = true, RedirectStandardOutput = true };
        _holder = Process.Start(start)!;
        if (_holder.StandardOutput.ReadLine() != "held") { throw new InvalidOperationException($"{lockFile} could not be locked"); }
    }

    public void Dispose()
    {
        if (_holder is null) { return; }
        _holder.StandardInput.Close();
        _holder.WaitForExit();
        _holder.Dispose();
    }
}
