namespace HilRunner.Reporting.Regions;

/// <summary>Where along a parameter something holds and where it ends: "recognised up to 22.5°; no longer from 30° (3 of 8)".</summary>
internal static class EdgeWords
{
    private const int MostNamed = 4;

    /// <param name="holds">Null: not known at that point.</param>
    /// <param name="held">What holds.</param>
    /// <param name="count">How many of how many, at a point.</param>
    public static string Of(IReadOnlyList<RegionBin> bins, IReadOnlyList<RegionPoint> points, Func<RegionPoint, bool?> holds, string held, Func<RegionPoint, (int K, int N)> count)
    {
        int[] known = [.. Enumerable.Range(0, bins.Count).Where(i => holds(points[i]) is not null)];
        if (known.Length == 0) { return "not known: no run can be used"; }
        int[] unknown = [.. Enumerable.Range(0, bins.Count).Except(known)];
        string rest = unknown.Length == 0 ? "" : $"; not known at {Named([.. unknown.Select(i => bins[i].Label)])}";
        return Sentence() + rest;

        string Sentence()
        {
            var stretches = Stretches(known, i => holds(points[i]) == true);
            var gaps = Stretches(known, i => holds(points[i]) == false);
            if (gaps.Count == 0) { return known.Length == 1 ? $"{held} at {bins[known[0]].Label}, the only value" : $"{held} at every value, {Span((known[0], known[^1]))}"; }
            if (stretches.Count == 0)
            {
                int best = known.MaxBy(i => Share(points[i]));
                return known.Length == 1 ? $"{held} at no value: {Count(points[best])} at {bins[best].Label}" : $"{held} at no value, {Span((known[0], known[^1]))}; at best {Count(points[best])}, at {bins[best].Label}";
            }
            if (stretches.Count > 1)
            {
                return $"{held} at {Named([.. stretches.Select(Span)])}; not at {Named([.. gaps.Select(g => $"{Span(g)} ({Count(points[g.First])}{(g.First == g.Last ? "" : " …")})")])}";
            }
            var (first, last) = stretches[0];
            bool fromStart = first == known[0], toEnd = last == known[^1];
            string where = first == last ? $"only at {bins[first].Label}" : fromStart ? $"up to {Top(last)}" : toEnd ? $"from {Bottom(first)} on" : $"from {Bottom(first)} to {Top(last)}";
            var lost = new List<string>();
            if (!fromStart) { lost.Add($"not up to {Top(gaps[0].Last)} ({Count(points[gaps[0].Last])})"); }
            if (!toEnd) { lost.Add($"no longer from {Bottom(gaps[^1].First)} ({Count(points[gaps[^1].First])})"); }
            return $"{held} {where}; {string.Join(", ", lost)}";
        }

        string Count(RegionPoint point)
        {
            var (k, n) = count(point);
            return FormattableString.Invariant($"{k} of {n}");
        }

        double Share(RegionPoint point)
        {
            var (k, n) = count(point);
            return n == 0 ? -1 : (double)k / n;
        }

        string Span((int First, int Last) s) => s.First == s.Last ? bins[s.First].Label : $"{Bottom(s.First)} to {Top(s.Last)}";
        string Bottom(int i) => bins[i].Parameter.Show(bins[i].From);
        string Top(int i) => bins[i].Parameter.Show(bins[i].To);
    }

    /// <summary>Maximal stretches of known points that are all alike.</summary>
    private static List<(int First, int Last)> Stretches(int[] known, Func<int, bool> alike)
    {
        var found = new List<(int First, int Last)>();
        bool open = false;
        foreach (int i in known)
        {
            if (!alike(i)) { open = false; continue; }
            if (open) { found[^1] = (found[^1].First, i); } else { found.Add((i, i)); }
            open = true;
        }
        return found;
    }

    private static string Named(string[] names) =>
        string.Join(", ", names.Take(MostNamed)) + (names.Length > MostNamed ? FormattableString.Invariant($" and {names.Length - MostNamed} more") : "");
}
