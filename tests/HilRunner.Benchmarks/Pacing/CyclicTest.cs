using System.Globalization;
using HilRunner.Benchmarks.Links;

namespace HilRunner.Benchmarks.Pacing;

/// <summary>cyclictest of rt-tests: one thread that does nothing but wake up, in the scheduling class of everybody.</summary>
internal static class CyclicTest
{
    private const int MostUs = 1_000_000;

    public static Lateness Measure(int rateHz, int seconds)
    {
        string output = PlainC.Run(
            "cyclictest", "--policy=other", "--quiet", "--histogram", Number(MostUs), "--interval", Number(1_000_000 / rateHz), "--loops", Number(rateHz * seconds));
        var values = new List<double>();
        foreach (string line in output.Split('\n'))
        {
            if (line.StartsWith("# Histogram Overflows:", StringComparison.Ordinal) && line.Split(':')[1].Trim().Trim('0').Length > 0)
            {
                throw new InvalidOperationException($"cyclictest woke up more than {MostUs} µs late: {line}");
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
