using System.Diagnostics;
using System.Globalization;
using System.Runtime.InteropServices;
using System.Text;
using HilRunner.Core.Numerics;

namespace HilRunner.Benchmarks.Resampling;

/// <summary>
/// Resampling beside scipy.signal.resample_poly, which does the same work: one channel, the same filter, in turns, in the same run. Each times itself, without start-up.
/// </summary>
internal static class ResampleBenchmark
{
    private const int Samples = 4_000_000, Blocks = 5;
    private static readonly (int Up, int Down, string Rates)[] s_ratios = [(1, 2, "100 → 50 Hz"), (2, 1, "50 → 100 Hz"), (8, 1, "100 → 800 Hz"), (1, 8, "800 → 100 Hz"), (100, 97, "97 → 100 Hz")];

    /// <param name="args">[--write FILE]</param>
    public static int Run(string[] args)
    {
        var report = new StringBuilder();
        report.Append(CultureInfo.InvariantCulture, $"# Resampling beside scipy\n\n{RuntimeInformation.OSDescription}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; .NET {Environment.Version}. {Samples:#,0} samples of one channel, {Blocks} blocks in turn; million input samples a second, and the ratio of times\n");
        report.Append("tool / scipy, median [least, greatest]; the largest difference between the two results. Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- resample --write FILE`. Needs python3-scipy.\n\n");
        report.Append("| ratio | tool | scipy | time, tool / scipy | largest difference |\n|---|---|---|---|---|\n");
        var random = new Random(1);
        double[] x = [.. Enumerable.Range(0, Samples).Select(_ => random.NextDouble() - 0.5)];
        string folder = Directory.CreateTempSubdirectory("hil-resample-").FullName;
        try
        {
            File.WriteAllBytes(Path.Combine(folder, "x"), MemoryMarshal.AsBytes(x.AsSpan()).ToArray());
            foreach (var (up, down, rates) in s_ratios)
            {
                var resampler = PolyphaseResampler.Of((up, down))!;
                var tool = new List<double>();
                var scipy = new List<double>();
                double[] made = resampler.Apply(x);
                for (int block = 0; block < Blocks; block++)
                {
                    var watch = Stopwatch.StartNew();
                    made = resampler.Apply(x);
                    tool.Add(watch.Elapsed.TotalSeconds);
                    scipy.Add(Scipy(folder, up, down));
                }
                double[] theirs = MemoryMarshal.Cast<byte, double>(File.ReadAllBytes(Path.Combine(folder, "y"))).ToArray();
                double difference = made.Zip(theirs, (a, b) => Math.Abs(a - b)).Max();
                double[] ratios = [.. tool.Zip(scipy, (t, s) => t / s).Order()];
                report.Append(CultureInfo.InvariantCulture, $"| {rates} | {Samples / Median(tool) / 1e6:0.0} | {Samples / Median(scipy) / 1e6:0.0} | {ratios[Blocks / 2]:0.00} [{ratios[0]:0.00}, {ratios[^1]:0.00}] | {difference:0.0e+0} |\n");
            }
        }
        finally { Directory.Delete(folder, recursive: true); }
        Console.Out.Write(report);
        if (Array.IndexOf(args, "--write") is >= 0 and var at && at + 1 < args.Length) { File.WriteAllText(args[at + 1], report.ToString()); }
        return 0;
    }

    /// <summary>Seconds that scipy took, by its own clock, for signal less the line through its ends.</summary>
    private static double Scipy(string folder, int up, int down)
    {
        string script = $"""
            import numpy as np, scipy.signal as s, time
            x = np.fromfile('{folder}/x')
            t = time.perf_counter()
            n = len(x)
            slope = (x[-1] - x[0]) / (n - 1)
            y = s.resample_poly(x - (x[0] + slope * np.arange(n)), {up}, {down})
            y = y + x[0] + slope * np.arange(len(y)) * {down} / {up}
            print(time.perf_counter() - t)
            y.tofile('{folder}/y')
            """;
        using var process = Process.Start(new ProcessStartInfo("/usr/bin/python3", ["-c", script]) { RedirectStandardOutput = true })!;
        string seconds = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return double.Parse(seconds, CultureInfo.InvariantCulture);
    }

    private static double Median(List<double> values) => values.Order().ElementAt(values.Count / 2);
}
