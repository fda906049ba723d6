using System.Globalization;
using HilRunner.Benchmarks.Links;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>cyclictest of rt-tests: one thread that does nothing but wake up, in the scheduling class of everybody.</summary>
internal static class CyclicTest
{
    private const int MostUs = 1_000_000;
    private const string Overflows = "# Histogram Overflows:";

    public static Lateness Measure(int rateHz, int seconds)
    {
        string output = PlainC.Run(
            "cyclictest", "--policy=other", "--quiet", "--histogram", Number(MostUs), "--interval", Number(1_000_000 / rateHz), "--loops", Number(rateHz * seconds));
        var values = new List<double>();
        foreach (string line in output.Split('\n'))
        {
            if (line.StartsWith(Overflows, StringComparison.Ordinal))
            {
                // Later than the histogram reaches; how much later is not told, so the least that it can be.
                values.AddRange(Enumerable.Repeat((double)MostUs, int.Parse(line[Overflows.Length..], CultureInfo.InvariantCulture)));
                continue;
            }
            string[] words = line.Split(' ');
            if (words.Length != 2 || !int.TryParse(words[0], NumberStyles.None, CultureInfo.InvariantCulture, out int us)) { continue; }
            values.AddRange(Enumerable.Repeat((double)us, int.Parse(words[1], CultureInfo.InvariantCulture)));
        }
        return values.Count >= rateHz * seconds * 0.9
            ? new(values)
            : throw new InvalidOperationException($"cyclictest gave {values.Count} of {rateHz * seconds} wake-ups");
    }

    public static string Version() => PlainC.Run("cyclictest", "--help").Split('\n')[0];

    private static string Number(int value) => value.ToString(CultureInfo.InvariantCulture);
}
