namespace HilRunner.Reporting.Axis;

/// <summary>Round places for ticks on a time axis: steps of 1, 2 or 5 × 10ⁿ s, then minutes and hours.</summary>
internal static class TimeTicks
{
    private static readonly long[] StepsS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1_200, 1_800, 3_600, 7_200, 14_400, 21_600, 43_200, 86_400];

    /// <summary>The ticks in [0, endNs], at most <paramref name="most"/> of them.</summary>
    public static (long StepNs, IReadOnlyList<long> AtNs) Of(long endNs, int most)
    {
        long step = StepNs(endNs, most);
        var at = new List<long>();
        for (long t = 0; t <= endNs && at.Count <= most; t += step) { at.Add(t); }
        return (step, at);
    }

    private static long StepNs(long endNs, int most)
    {
        for (long decade = 1_000; decade < 1_000_000_000; decade *= 10)
        {
            foreach (long m in (long[])[1, 2, 5]) { if (endNs / (decade * m) < most) { return decade * m; } }
        }
        foreach (long s in StepsS) { if (endNs / (s * 1_000_000_000) < most) { return s * 1_000_000_000; } }
        long days = endNs / (86_400L * 1_000_000_000 * most) + 1;
        return days * 86_400L * 1_000_000_000;
    }

    /// <summary>"12 s", "0.25 s", "2:30", "1:02:30".</summary>
    public static string Label(long ns, long stepNs)
    {
        if (ns >= 60_000_000_000 && stepNs >= 1_000_000_000)
        {
            long s = ns / 1_000_000_000;
            return s >= 3_600
                ? FormattableString.Invariant($"{s / 3_600}:{s / 60 % 60:00}:{s % 60:00}")
                : FormattableString.Invariant($"{s / 60}:{s % 60:00}");
        }
        return FormattableString.Invariant($"{ns / 1e9m:0.######} s");
    }
}
