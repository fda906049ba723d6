using System.Diagnostics;
using System.Globalization;

namespace HilRunner.Benchmarks.Pacing;

/// <param name="Tool">Lateness of the samples that <c>hil run</c> played.</param>
/// <param name="Cyclic">Of cyclictest's wake-ups right after, or right before.</param>
internal sealed record BlockPair(int RateHz, bool BesideAllocator, Lateness Tool, Lateness Cyclic);

/// <summary>
/// How late <c>hil run</c> sends its samples, in blocks that alternate with cyclictest at the same interval, so that what else the machine
/// does meets both alike: as a person uses it, and with a neighbour that makes garbage in the process that draws and decodes. Read the ratios.
/// </summary>
internal static class PacingBenchmark
{
    public static int Run(string[] args)
    {
        if (PacingOptions.Parse(args) is not { } options)
        {
            Console.Error.WriteLine(PacingOptions.Usage);
            return 64;
        }
        var folder = Directory.CreateTempSubdirectory("hil-pacing-");
        try
        {
            string report = PacingReport.Write(Measure(options, folder.FullName), options);
            Console.Write(report);
            if (options.Write is { } path) { File.WriteAllText(path, report); }
            return 0;
        }
        finally { folder.Delete(recursive: true); }
    }

    private static List<BlockPair> Measure(PacingOptions options, string folder)
    {
        var pairs = new List<BlockPair>();
        var played = new PlayedBlock(Checkout.Root, folder);
        for (int pair = 0; pair < options.Pairs; pair++)
        {
            foreach (bool besideAllocator in new[] { false, true })
            {
                foreach (int rate in options.Rates)
                {
                    using var quiet = new QuietMachine(options.LockFile);
                    // In turns, so that neither always comes second.
                    Lateness? cyclic = pair % 2 == 1 ? Cyclic(rate, options.Seconds, besideAllocator) : null;
                    Lateness tool = played.Measure(rate, options.Seconds, besideAllocator);
                    cyclic ??= Cyclic(rate, options.Seconds, besideAllocator);
                    pairs.Add(new(rate, besideAllocator, tool, cyclic));
                    Console.Error.WriteLine(string.Create(
                        CultureInfo.InvariantCulture,
                        $"{pair + 1}/{options.Pairs} {rate}/s{(besideAllocator ? " beside allocator" : "")}: p99 {tool.Quantile(0.99m):0.0}, cyclictest {cyclic.Quantile(0.99m):0} µs"));
                }
            }
        }
        return pairs;
    }

    /// <summary>Under the same load of the machine: beside a process that makes as much garbage, where the tool has it in its own.</summary>
    private static Lateness Cyclic(int rateHz, int seconds, bool besideAllocator)
    {
        if (!besideAllocator) { return CyclicTest.Measure(rateHz, seconds); }
        var start = new ProcessStartInfo(Environment.ProcessPath!, ["allocator"]) { RedirectStandardInput = true, RedirectStandardError = true };
        using var allocator = Process.Start(start)!;
        Lateness lateness = CyclicTest.Measure(rateHz, seconds);
        allocator.StandardInput.Close();
        Allocator.Reached(allocator.StandardError.ReadToEnd());
        allocator.WaitForExit();
        return lateness;
    }
}
