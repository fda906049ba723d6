namespace HilRunner.Scoring.Statistics;

/// <summary>
/// How a sum that was seen lies among the sums of all arrangements that would be equally likely if nothing had changed.
/// </summary>
/// <param name="Sum">As seen.</param>
/// <param name="P">Two-sided: the share of arrangements whose sum is as far from 0.</param>
/// <param name="Above">The share of those with as large a sum.</param>
/// <param name="Below">The share of those with as small a sum.</param>
/// <param name="Least">The smallest two-sided P that any arrangement of the same values has.</param>
/// <param name="LeastOneSided">The same of one side; of both the larger.</param>
public readonly record struct ArrangementTest(
    double Sum, double P, double Above, double Below, double Least, double LeastOneSided)
{
    /// <summary>The two one-sided questions, doubled; a test of a shift beyond a tolerance asks each with other values.</summary>
    public static double Doubled(double above, double below) => Math.Min(1, 2 * Math.Min(above, below));
}

/// <summary>A part of the sum that is arranged independently of the others.</summary>
/// <param name="All">Every value with its chance; null: too many, so that they are drawn.</param>
/// <param name="Draw">One value at random.</param>
internal sealed record ArrangedPart(IReadOnlyList<(double Value, double Chance)>? All, Func<Random, double> Draw);

/// <summary>
/// The distribution of a sum of parts. Exact where the sums that differ are few enough, which they are for counts; else from
/// <see cref="Draws"/> draws, the seen one counted with them: p = (b + 1) / (B + 1), so that p is never too small (Phipson,
/// Smyth,
/// Stat. Appl. Genet. Mol. Biol. 9:39, 2010).
/// </summary>
internal static class Arrangements
{
    public const int Draws = 99_999;

    /// <summary>Sums held at a time.</summary>
    private const int MostSums = 1_000_000;

    /// <param name="seen">The sum as it was seen; one of the arrangements.</param>
    public static ArrangementTest Test(double seen, IReadOnlyList<ArrangedPart> parts, int seed) =>
        Exact(parts) is { } sums ? Of(seen, sums) : Drawn(seen, parts, seed);

    private static IReadOnlyList<(double Value, double Chance)>? Exact(IReadOnlyList<ArrangedPart> parts)
    {
        List<(double Value, double Chance)> sums = [(0, 1)];
        foreach (var part in parts)
        {
            if (part.All is not { } all || (long)sums.Count * all.Count > MostSums) { return null; }
            sums = Merged([.. sums.SelectMany(s => all.Select(p => (s.Value + p.Value, s.Chance * p.Chance)))]);
        }
        return sums;
    }

    /// <summary>In order, equal values joined: those that only rounding tells apart are equal.</summary>
    public static List<(double Value, double Chance)> Merged(List<(double Value, double Chance)> sums)
    {
        sums.Sort((a, b) => a.Value.CompareTo(b.Value));
        double slack = Slack(sums[0].Value, sums[^1].Value);
        var merged = new List<(double Value, double Chance)>();
        foreach (var sum in sums)
        {
            if (merged.Count > 0 && sum.Value - merged[^1].Value <= slack)
            {
                merged[^1] = (merged[^1].Value, merged[^1].Chance + sum.Chance);
            }
            else { merged.Add(sum); }
        }
        return merged;
    }

    private static ArrangementTest Of(double seen, IReadOnlyList<(double Value, double Chance)> sums)
    {
        double low = sums[0].Value, high = sums[^1].Value, slack = 1000 * Slack(low, high), most = Math.Max(-low, high);
        double Share(Func<double, bool> counts) => Math.Min(1, sums.Where(s => counts(s.Value)).Sum(s => s.Chance));
        return new(
            seen, Share(v => Math.Abs(v) >= Math.Abs(seen) - slack), Share(v => v >= seen - slack), Share(v => v <= seen + slack),
            Share(v => Math.Abs(v) >= most - slack), Math.Max(sums[0].Chance, sums[^1].Chance));
    }

    private static ArrangementTest Drawn(double seen, IReadOnlyList<ArrangedPart> parts, int seed)
    {
        var random = new Random(seed);
        double slack = 1e-9 * Math.Abs(seen);
        int far = 0, above = 0, below = 0;
        for (int draw = 0; draw < Draws; draw++)
        {
            double sum = 0;
            foreach (var part in parts) { sum += part.Draw(random); }
            if (Math.Abs(sum) >= Math.Abs(seen) - slack) { far++; }
            if (sum >= seen - slack) { above++; }
            if (sum <= seen + slack) { below++; }
        }
        double P(int b) => (b + 1) / (Draws + 1.0);
        return new(seen, P(far), P(above), P(below), P(0), P(0));
    }

    private static double Slack(double low, double high) => 1e-12 * Math.Max(Math.Abs(low), Math.Abs(high));
}
