using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Agreements;

/// <summary>Time-weighted agreement of states: exact intersections of the two timelines, and the figures that follow.</summary>
internal static class AgreementScorer
{
    /// <summary>The intervals without their first <paramref name="graceNs"/>; those no longer than that are left out whole.</summary>
    public static IReadOnlyList<Interval> WithoutGrace(IReadOnlyList<Interval> states, long graceNs) =>
        states.Select(i => i with { Start = Nanoseconds.AddHeld(i.Start, graceNs) }).Where(i => i.Start < i.End).ToList();

    /// <param name="classes">The reference's classes: each gets its row of figures, defined or not.</param>
    public static Agreement Score(IReadOnlyList<Interval> states, ObservedTimeline observed, IEnumerable<string> classes)
    {
        var confusion = Confusion(states, observed);
        var rows = new Dictionary<string, long>(StringComparer.Ordinal);
        var columns = new Dictionary<string, long>(StringComparer.Ordinal);
        long total = 0;
        long agreed = 0;
        foreach (var (reference, row) in confusion)
        {
            foreach (var (said, ns) in row)
            {
                rows[reference] = rows.GetValueOrDefault(reference) + ns;
                columns[said] = columns.GetValueOrDefault(said) + ns;
                total += ns;
                if (said == reference) { agreed += ns; }
            }
        }

        var perClass = new SortedDictionary<string, ClassAgreement>(StringComparer.Ordinal);
        foreach (string c in classes)
        {
            long right = confusion.GetValueOrDefault(c)?.GetValueOrDefault(c) ?? 0;
            long row = rows.GetValueOrDefault(c);
            long column = columns.GetValueOrDefault(c);
            perClass[c] = new(Ratio(right, row), Ratio(right, column), Ratio(2 * (Int128)right, (Int128)row + column));
        }
        var recalls = perClass.Values.Where(p => p.Recall is not null).Select(p => p.Recall!.Value).ToList();
        return new()
        {
            ScoredNs = total,
            ConfusionNs = confusion.ToSorted(r => (IReadOnlyDictionary<string, long>)r.Value.ToSorted(c => c.Value)),
            Accuracy = Ratio(agreed, total),
            BalancedAccuracy = recalls.Count == 0 ? null : recalls.Sum() / recalls.Count,
            Kappa = Kappa(total, agreed, rows, columns),
            Mcc = Matthews(total, agreed, rows, columns),
            PerClass = perClass,
        };
    }

    private static Dictionary<string, Dictionary<string, long>> Confusion(IReadOnlyList<Interval> states, ObservedTimeline observed)
    {
        var confusion = new Dictionary<string, Dictionary<string, long>>(StringComparer.Ordinal);
        int step = 0;
        foreach (var interval in states)
        {
            if (!confusion.TryGetValue(interval.Class, out var row))
            {
                confusion[interval.Class] = row = new(StringComparer.Ordinal);
            }
            while (observed.EndOf(step) <= interval.Start) { step++; }
            for (long at = interval.Start; at < interval.End;)
            {
                long until = Math.Min(interval.End, observed.EndOf(step));
                string said = observed.Steps[step].Class;
                row[said] = row.GetValueOrDefault(said) + (until - at);
                at = until;
                if (at < interval.End) { step++; }
            }
        }
        return confusion;
    }

    /// <summary>Cohen 1960: (p_o − p_e)/(1 − p_e), here times N², in exact integers.</summary>
    private static double? Kappa(long total, long agreed, Dictionary<string, long> rows, Dictionary<string, long> columns)
    {
        Int128 chance = Product(rows, columns);
        return Ratio((Int128)total * agreed - chance, (Int128)total * total - chance);
    }

    /// <summary>Gorodkin 2004, equation 8: covariance of the two assignments over the root of their variances.</summary>
    private static double? Matthews(long total, long agreed, Dictionary<string, long> rows, Dictionary<string, long> columns)
    {
        Int128 square = (Int128)total * total;
        Int128 ofReference = square - Product(rows, rows);
        Int128 ofObserved = square - Product(columns, columns);
        if (ofReference == 0 || ofObserved == 0) { return null; }
        return (double)((Int128)total * agreed - Product(rows, columns)) / Math.Sqrt((double)ofReference * (double)ofObserved);
    }

    private static Int128 Product(Dictionary<string, long> a, Dictionary<string, long> b)
    {
        Int128 sum = 0;
        foreach (var (c, ns) in a) { sum += (Int128)ns * b.GetValueOrDefault(c); }
        return sum;
    }

    private static double? Ratio(Int128 numerator, Int128 denominator) =>
        denominator == 0 ? null : (double)numerator / (double)denominator;
}
