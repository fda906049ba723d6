using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using HilRunner.Core.Models;
using HilRunner.Core.Runs;

namespace HilRunner.Benchmarks.Running;

/// <summary>
/// The whole walk at speed max beside the host model fed directly, and the start of <c>hil --version</c> beside a program of the
/// same runtime that does nothing, in turns.
/// </summary>
internal static class RunBenchmark
{
    private const int Blocks = 9;
    private const int Samples = 60_000;
    private const int RateHz = 100;

    /// <param name="args">--write FILE: the result goes there as well.</param>
    public static int Run(string[] args)
    {
        var folder = Directory.CreateTempSubdirectory("hil-bench-");
        try
        {
            string report = Measure(folder.FullName);
            Console.Write(report);
            if (args is ["--write", var path]) { File.WriteAllText(path, report); }
            return 0;
        }
        finally { folder.Delete(recursive: true); }
    }

    private static string Measure(string folder)
    {
        string root = Checkout.Root;
        string scenario = Path.Combine(folder, "long.yaml");
        File.WriteAllText(scenario, $$"""
            scenario: long
            stimulus:
              - synth: {tone: 16 Hz, peak: 0.3 g, axis: z, for: {{Samples / RateHz}} s, class: conveyed}
            """);
        var model = MotionModel.Read(Path.Combine(root, "scenarios", "parcel", "model.yaml"));
        Feed(model);
        Start("--version");
        var rates = new List<(double Walk, double Model)>();
        var starts = new List<(double Hil, double Nothing)>();
        for (int block = 0; block < Blocks; block++)
        {
            rates.Add((Play(root, scenario, Path.Combine(folder, $"{block}")), Feed(model)));
            starts.Add((Start("--version"), Start(null)));
        }
        var text = new StringBuilder();
        void Line(FormattableString line) => text.Append(FormattableString.Invariant(line)).Append('\n');
        Line($"# Runs: the whole walk at speed max, and start-up");
        Line($"");
        Line($"{RuntimeInformation.OSDescription.Trim()}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; {RuntimeInformation.FrameworkDescription}.");
        Line($"{Blocks} blocks in turn, the median and [least, greatest] of them. Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- running --write FILE`.");
        Line($"");
        Line($"| | tool | beside it | ratio |");
        Line($"|---|---|---|---|");
        Line($"| samples/s at speed max over a pty, lines protocol, credit window 200, device in the player's process; beside: the model fed directly | {Spread(rates.Select(r => r.Walk))} | {Spread(rates.Select(r => r.Model))} | {Spread(rates.Select(r => r.Walk / r.Model))} |");
        Line($"| `hil --version`, ms; beside: a program of the same runtime that returns at once | {Spread(starts.Select(s => s.Hil))} | {Spread(starts.Select(s => s.Nothing))} | {Spread(starts.Select(s => s.Hil / s.Nothing))} |");
        return text.ToString();
    }

    /// <summary>From the first to the last sample handed over, by playout.csv.</summary>
    private static double Play(string root, string scenario, string output)
    {
        Launch(Path.Combine(AppContext.BaseDirectory, "hil"), "run", scenario, "--rig", Path.Combine(root, "rigs", "virtual.yaml"), "--speed", "max", "--out", output, "--quiet");
        var rows = PlayoutFile.Read(Directory.GetFiles(output, RunFiles.Playout, SearchOption.AllDirectories).Single());
        if (rows.Count < Samples) { throw new InvalidOperationException($"{rows.Count} of {Samples} samples were played"); }
        return (rows.Count - 1) / ((rows[^1].ActualNs - rows[0].ActualNs) / 1e9);
    }

    private static double Feed(MotionModel model)
    {
        var runner = new ModelRunner(model);
        int[] counts = new int[model.Channels.Count];
        long begin = Stopwatch.GetTimestamp();
        for (int n = 0; n < Samples; n++)
        {
            counts[^1] = 1000 + (n * 7919 % 601) - 300;
            runner.Push(n, counts, out _);
        }
        return Samples / Stopwatch.GetElapsedTime(begin).TotalSeconds;
    }

    private static double Start(string? argument)
    {
        long begin = Stopwatch.GetTimestamp();
        if (argument is null) { Launch(Environment.ProcessPath!, "nothing"); }
        else { Launch(Path.Combine(AppContext.BaseDirectory, "hil"), argument); }
        return Stopwatch.GetElapsedTime(begin).TotalMilliseconds;
    }

    private static void Launch(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true })!;
        process.StandardOutput.ReadToEnd();
        process.WaitForExit();
    }

    private static string Spread(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return $"{Figure(sorted[sorted.Length / 2])} [{Figure(sorted[0])}, {Figure(sorted[^1])}]";
    }

    private static string Figure(double value) => value.ToString(value >= 100 ? "0" : value >= 1 ? "0.0" : "0.000", CultureInfo.InvariantCulture);
}
