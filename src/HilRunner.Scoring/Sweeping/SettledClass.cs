using HilRunner.Core.Runs;

namespace HilRunner.Scoring.Sweeping;

/// <summary>What the device said of one level, once it had had its time.</summary>
/// <param name="Level">In the unit of what is swept.</param>
/// <param name="Class">That holds longest in the last quarter of the dwell; null: nothing had been said.</param>
/// <param name="Settled">It did not change in that quarter.</param>
/// <param name="Shares">Class → share of the second half of the dwell.</param>
public sealed record SettledClass(int Loop, bool Rising, decimal Level, string? Class, bool Settled, IReadOnlyDictionary<string, double> Shares)
{
    /// <summary>The levels of a loop, in the order in which they were played.</summary>
    /// <param name="decisions">Of the run, momentary classes left out, by rising time.</param>
    /// <param name="levels">As played.</param>
    /// <param name="dwellNs">Of each; one more lies before the first, as the run-in.</param>
    public static IReadOnlyList<SettledClass> Of(int loop, IReadOnlyList<Decision> decisions, IEnumerable<(bool Rising, decimal Level)> levels, long dwellNs)
    {
        ArgumentNullException.ThrowIfNull(decisions);
        ArgumentNullException.ThrowIfNull(levels);
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(dwellNs);
        return [.. levels.Select((l, i) => At(loop, l.Rising, l.Level, decisions, (i + 1) * dwellNs, (i + 2) * dwellNs))];
    }

    private static SettledClass At(int loop, bool rising, decimal level, IReadOnlyList<Decision> decisions, long from, long to)
    {
        var last = Held(decisions, to - (to - from) / 4, to);
        var half = Held(decisions, from + (to - from) / 2, to);
        double all = half.Sum(h => (double)h.Ns);
        return new(loop, rising, level, last.MaxBy(h => h.Ns).Class, last.Count == 1,
            half.Where(h => h.Class is not null).GroupBy(h => h.Class!).ToDictionary(g => g.Key, g => g.Sum(h => h.Ns) / all, StringComparer.Ordinal));
    }

    /// <summary>The classes that hold in [from, to), one after the other; at least one.</summary>
    private static List<(string? Class, long Ns)> Held(IReadOnlyList<Decision> decisions, long from, long to)
    {
        var held = new List<(string? Class, long Ns)>();
        string? now = decisions.LastOrDefault(d => d.Time.Ns <= from)?.Class;
        long since = from;
        foreach (var d in decisions.Where(d => d.Time.Ns > from && d.Time.Ns < to && d.Class != now))
        {
            if (d.Class == now) { continue; }
            held.Add((now, d.Time.Ns - since));
            (now, since) = (d.Class, d.Time.Ns);
        }
        held.Add((now, to - since));
        return held;
    }
}
