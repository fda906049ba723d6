using System.Diagnostics;
using System.Globalization;
using HilRunner.Testing;

namespace HilRunner.Cli.Tests;

/// <summary>A simulated table in a process of its own, the rig file that fits it, and what it says of its true motion.</summary>
internal sealed class TableFixture : IDisposable
{
    /// <summary>Less is the table's own ringing.</summary>
    public const double RestG = 0.02;
    /// <summary>Of the table, and the limit of its answers: the whole machine was seen to stand still for two seconds.</summary>
    public const int WatchdogS = 5;
    /// <summary>Of its reference sensor's answers; every level waits for as long until what is measured is its own.</summary>
    private const int ReferenceS = 3;
    private readonly TemporaryFolder _folder = TestPaths.NewFolder("table");
    private Process? _shaker;

    public string RunFolder => Directory.GetDirectories(Directory.GetDirectories(_folder.File("out")).Single()).Single();

    public string File(string name) => _folder.File(name);

    public void Start(params string[] more)
    {
        _shaker = Hil.Start(["shaker", "--at", File("at"), "--trace", File("trace.csv"), "--watchdog", $"{WatchdogS}s", .. more]);
        string[] ends = more.Contains("--generator") ? ["generator", "reference", "device"] : ["table", "device"];
        foreach (string end in ends) { Assert.That(_shaker.StandardOutput.ReadLine(), Does.StartWith($"{end}: pty:")); }
        Hil.Await(() => System.IO.File.Exists(File("trace.csv")) && Trace().Count > 0, "the trace");
    }

    public void Stop()
    {
        _shaker!.Kill();
        _shaker.WaitForExit();
        // Its links are left behind, and the numbers of its terminals are free: those of another table may have them by now.
        foreach (string end in Directory.GetFiles(File("at"))) { System.IO.File.Delete(end); }
    }

    public string Rig(string name = "shaker-sim")
    {
        string path = File($"{name}.yaml");
        if (!System.IO.File.Exists(path))
        {
            System.IO.File.WriteAllText(path, System.IO.File.ReadAllText(Path.Combine(TestPaths.Root, "rigs", $"{name}.yaml")).Replace("/tmp/hil-shaker", File("at"), StringComparison.Ordinal)
                // Other tests hold this machine up for longer than a table on a bench would be.
                .Replace("answer: 1 s", $"answer: {WatchdogS} s", StringComparison.Ordinal)
                .Replace("g_per_unit: 14.14}", $"g_per_unit: 14.14, within: {ReferenceS} s}}", StringComparison.Ordinal)
                .Replace("watchdog: 250 ms", $"watchdog: {WatchdogS} s\n  answer: {WatchdogS} s", StringComparison.Ordinal));
        }
        return path;
    }

    public List<(double UnixS, double Mm, double G)> Trace()
    {
        using var file = new FileStream(File("trace.csv"), FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        using var reader = new StreamReader(file);
        string[] lines = reader.ReadToEnd().Split('\n');
        // The last line may be half written.
        return lines.Length < 3 ? [] : [.. lines[1..^1].Select(l => l.Split(',')).Select(f => (double.Parse(f[0], CultureInfo.InvariantCulture), double.Parse(f[1], CultureInfo.InvariantCulture), double.Parse(f[2], CultureInfo.InvariantCulture)))];
    }

    /// <summary>
    /// Starts a call that moves the table, and waits until it does. A machine that holds the call up for longer than the table's
    /// watchdog makes it stop the table, and is right to: then it is started anew.
    /// </summary>
    public Process StartMoving(double g, Func<Process> start)
    {
        for (int attempt = 1; ; attempt++)
        {
            var hil = start();
            Hil.Await(() => hil.HasExited || Lately().Any(r => Math.Abs(r) > g), $"{g} g");
            if (!hil.HasExited) { return hil; }
            string said = hil.StandardOutput.ReadToEnd() + hil.StandardError.ReadToEnd();
            bool heldUp = said.Contains("no answer to", StringComparison.Ordinal)
                || said.Contains("its watchdog or somebody stopped it", StringComparison.Ordinal);
            Assert.That(heldUp && attempt < 3, $"attempt {attempt}: it ended before the table moved with {g} g:\n{said}");
            hil.Dispose();
            Directory.Delete(File("out"), recursive: true);
        }
    }

    /// <summary>Accelerations of the last fifth of a second or so, in g: a long trace is not read whole each time.</summary>
    private IEnumerable<double> Lately()
    {
        using var file = new FileStream(File("trace.csv"), FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
        const int tail = 8192;
        file.Seek(-Math.Min(tail, file.Length), SeekOrigin.End);
        using var reader = new StreamReader(file);
        string[] lines = reader.ReadToEnd().Split('\n');
        // The first and the last may be cut.
        return lines.Length < 3 ? [] : [.. lines[1..^1].Select(l => double.Parse(l.Split(',')[2], CultureInfo.InvariantCulture))];
    }

    /// <summary>For half a second of the table's own time, while it still runs.</summary>
    public void AssertAtRest()
    {
        double from = Trace()[^1].UnixS;
        Hil.Await(() => Trace()[^1].UnixS > from + 1, "a second of trace");
        Assert.That(_shaker!.HasExited, Is.False);
        Assert.That(IsAtRest(Trace()));
    }

    public static bool IsAtRest(List<(double UnixS, double Mm, double G)> trace) => trace.Where(r => r.UnixS > trace[^1].UnixS - 0.5).Max(r => Math.Abs(r.G)) < RestG;

    public void AssertInsideTheEnvelope()
    {
        var trace = Trace();
        Assert.That(trace.Max(r => Math.Abs(r.G)), Is.InRange(0.05, 2));
        Assert.That(trace.Max(r => Math.Abs(r.Mm)), Is.LessThan(10));
    }

    public void Dispose()
    {
        if (_shaker is { HasExited: false }) { _shaker.Kill(); }
        _shaker?.Dispose();
        _folder.Dispose();
    }
}
