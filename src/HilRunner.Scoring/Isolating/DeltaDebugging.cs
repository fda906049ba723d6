namespace HilRunner.Scoring.Isolating;

/// <summary>
/// The minimising delta debugging algorithm, ddmin (Zeller and Hildebrandt, "Simplifying and isolating failure-inducing input", IEEE TSE 28(2):183–200, 2002): parts are left out as long as the rest
/// still shows the failure. What is left is 1-minimal: no single part of it can be left out; it need not be the smallest.
/// </summary>
public static class DeltaDebugging
{
    /// <param name="parts">How many there are, 1 or more; together they show the failure.</param>
    /// <param name="shows">Whether these parts (numbers in rising order) show it; each set is asked for once. What cannot be told counts as no.</param>
    public static IReadOnlyList<int> Minimise(int parts, Func<IReadOnlyList<int>, bool> shows)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(parts, 1);
        ArgumentNullException.ThrowIfNull(shows);
        var known = new Dictionary<string, bool>(StringComparer.Ordinal);
        bool Shows(IReadOnlyList<int> set)
        {
            string key = string.Join(',', set);
            if (!known.TryGetValue(key, out bool answer)) { known[key] = answer = shows(set); }
            return answer;
        }
        List<int> left = [.. Enumerable.Range(0, parts)];
        int pieces = 2;
        while (left.Count >= 2)
        {
            var subsets = Split(left, pieces);
            if (subsets.FirstOrDefault(Shows) is { } subset) { (left, pieces) = (subset, 2); }
            else if (pieces > 2 && subsets.Select(s => left.Except(s).ToList()).FirstOrDefault(Shows) is { } complement) { (left, pieces) = (complement, Math.Max(pieces - 1, 2)); }
            else if (pieces < left.Count) { pieces = Math.Min(2 * pieces, left.Count); }
            else { break; }
        }
        return left;
    }

    private static List<List<int>> Split(List<int> set, int pieces)
    {
        var parts = new List<List<int>>();
        int from = 0;
        for (int i = 0; i < pieces; i++)
        {
            int size = (set.Count - from) / (pieces - i);
            parts.Add(set.GetRange(from, size));
            from += size;
        }
        return parts;
    }
}
