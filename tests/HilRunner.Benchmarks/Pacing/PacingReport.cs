using System.Runtime.InteropServices;
using System.Text;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>The result as a page of Markdown.</summary>
internal static class PacingReport
{
    /// <summary>At fewer samples in a block p99.9 would be its greatest value.</summary>
    private const int LeastForP999 = 5000;

    private static readonly (string Name, decimal Share, string Target)[] s_figures =
        [("median", 0.5m, "–"), ("p99", 0.99m, "at most 1.0"), ("p99.9", 0.999m, "at most 1.5")];

    public static string Write(IReadOnlyList<BlockPair> pairs, PacingOptions options)
    {
        var text = new StringBuilder();
        void Line(FormattableString line) => text.Append(FormattableString.Invariant(line)).Append('\n');
        double coverage = new BlockRatios(Enumerable.Repeat(1.0, options.Pairs)).Coverage;
        Line($"# Pacing: how late samples are sent");
        Line($"");
        Line($"{RuntimeInformation.OSDescription.Trim()}, kernel {Environment.OSVersion.Version}, {RuntimeInformation.ProcessArchitecture}, {Environment.ProcessorCount} cores; {RuntimeInformation.FrameworkDescription}; {CyclicTest.Version().Trim()}.");
        Line($"{TimeProvider.System.GetUtcNow():yyyy-MM-dd}; {options.Pairs} pairs of blocks of {options.Seconds} s, tool and cyclictest in turns; the machine's load average at the end was {Load()}, this benchmark included.");
        Line($"Made by `dotnet run -c Release --project tests/HilRunner.Benchmarks -- pacing --pairs {options.Pairs} --seconds {options.Seconds} --rates {string.Join(',', options.Rates)} --write FILE`.");
        Line($"");
        Line($"Tool: `hil run --speed real` on a terminal that is read, with live line, decoding and capture; the virtual device on its pseudo-terminal; one message a");
        Line($"sample at every rate. Lateness is actual − due of every sample in playout.csv, the first one included; actual is the moment before the write.");
        Line($"cyclictest: `--policy=other` at the same interval, in whole µs, the fraction left off; it may use either core, as the tool may.");
        Line($"");
        Line($"cyclictest leaves out the moments that pass while it is late; a player sends them all, late. So there are two comparisons: *as printed*, and *every");
        Line($"moment*, with what it left out added (a wake-up that is late by x > interval i also stands for x − i, x − 2i, … > 0). The targets are for every moment.");
        Line($"Ratios are tool / cyclictest: median over the pairs [order-statistics interval, {100 * coverage:0.0} %] · of the quantiles of all blocks together.");
        foreach (var condition in pairs.GroupBy(p => p.BesideAllocator))
        {
            Line($"");
            Line($"## {(condition.Key ? $"With {Allocator.MegabytesPerSecond} MB/s allocated by a neighbour in the process that draws and decodes" : "As a person uses it")}");
            Line($"");
            if (condition.Key) { Line($"1 000-byte arrays, 20 MB of them alive. cyclictest beside a process that allocates as much.\n"); }
            Line($"| samples/s | | tool, µs | cyclictest as printed, µs | ratio | cyclictest every moment, µs | ratio | target |");
            Line($"|---|---|---|---|---|---|---|---|");
            foreach (var rate in condition.GroupBy(p => p.RateHz).OrderBy(g => g.Key)) { Rows(text, rate.Key, [.. rate]); }
        }
        return text.ToString();
    }

    private static void Rows(StringBuilder text, int rateHz, BlockPair[] pairs)
    {
        Lateness[] tool = [.. pairs.Select(p => p.Tool)], printed = [.. pairs.Select(p => p.Cyclic)];
        Lateness[] every = [.. printed.Select(c => c.WithPassedMoments(1e6 / rateHz))];
        foreach (var (name, share, target) in s_figures)
        {
            if (name == "p99.9" && tool[0].Count < LeastForP999) { continue; }
            string[] cells =
            [
                $"{rateHz}", name, Figure(Lateness.Pool(tool), share), Figure(Lateness.Pool(printed), share), Ratio(tool, printed, share),
                Figure(Lateness.Pool(every), share), Ratio(tool, every, share), target,
            ];
            text.Append("| ").AppendJoin(" | ", cells).Append(" |\n");
        }
    }

    private static string Figure(Lateness lateness, decimal share) => BlockRatios.Figure(lateness.Quantile(share));

    private static string Ratio(Lateness[] tool, Lateness[] cyclic, decimal share)
    {
        var ratios = new BlockRatios(tool.Zip(cyclic, (t, c) => t.Quantile(share) / c.Quantile(share)));
        return $"{ratios} · {BlockRatios.Figure(Lateness.Pool(tool).Quantile(share) / Lateness.Pool(cyclic).Quantile(share))}";
    }

    private static string Load() => File.ReadAllText("/proc/loadavg").Split(' ')[0];
}
