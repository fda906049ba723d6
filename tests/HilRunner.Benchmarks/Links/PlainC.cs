using System.Diagnostics;
using System.Globalization;

namespace HilRunner.Benchmarks.Links;

/// <summary>links.c, compiled here and now: the far end of the benchmark and the loops to compare with.</summary>
internal sealed class PlainC : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("hil-links-");
    private readonly List<Process> _farEnds = [];
    private readonly string _program;

    public PlainC()
    {
        _program = Path.Combine(_folder.FullName, "links");
        Run("gcc", "-O2", "-Wall", "-o", _program, Path.Combine(AppContext.BaseDirectory, "Links", "links.c"));
    }

    /// <summary>Starts a far end ("source" or "echo") and gives the path of its pseudo-terminal.</summary>
    public string StartFarEnd(string mode)
    {
        Process process = Begin(_program, mode);
        _farEnds.Add(process);
        return process.StandardOutput.ReadLine() ?? throw new InvalidOperationException($"links {mode} ended");
    }

    /// <summary>Bytes a second.</summary>
    public double ReadStream(string path, double seconds)
    {
        string[] words = Run(_program, "read", path, seconds.ToString(CultureInfo.InvariantCulture)).Split(' ');
        return long.Parse(words[0], CultureInfo.InvariantCulture) / (long.Parse(words[1], CultureInfo.InvariantCulture) / 1e9);
    }

    /// <summary>Round trips in nanoseconds.</summary>
    public long[] Ping(string path, int count) =>
        [.. Run(_program, "ping", path, count.ToString(CultureInfo.InvariantCulture))
            .Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(line => long.Parse(line, CultureInfo.InvariantCulture))];

    public static string Run(string program, params string[] arguments)
    {
        using Process process = Begin(program, arguments);
        string output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return process.ExitCode == 0 ? output : throw new InvalidOperationException($"{program} ended with exit code {process.ExitCode}");
    }

    public void Dispose()
    {
        foreach (Process process in _farEnds)
        {
            process.Kill();
            process.WaitForExit();
            process.Dispose();
        }
        _folder.Delete(recursive: true);
    }

    private static Process Begin(string program, params string[] arguments) =>
        Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true })!;
}
