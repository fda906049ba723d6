namespace HilRunner.Scoring.Sweeping;

/// <summary>
/// Where along one leg, by rising level, a sequence of classes changes: the cuts that leave the fewest levels with another class than
/// their part has; of equals, the one in the middle. Parts may be empty. By dynamic programming, part after part.
/// </summary>
internal static class LegCuts
{
    /// <summary>Levels that fit no part.</summary>
    /// <param name="classes">Of the levels, rising; null: nothing was said, which fits anywhere.</param>
    /// <param name="sequence">At least one class.</param>
    /// <param name="cuts">[j]: how many levels lie below the change from part j to part j + 1; rising.</param>
    public static int Fit(IReadOnlyList<string?> classes, IReadOnlyList<string> sequence, out int[] cuts)
    {
        int n = classes.Count;
        int[][] misfits = [.. sequence.Select(part => MisfitsUpTo(classes, part))];
        var least = new int[sequence.Count][];
        least[0] = misfits[0];
        for (int j = 1; j < sequence.Count; j++)
        {
            least[j] = [.. Enumerable.Range(0, n + 1).Select(i => Enumerable.Range(0, i + 1).Min(k => Cost(j, k, i)))];
        }
        cuts = new int[sequence.Count - 1];
        for (int j = sequence.Count - 1, i = n; j > 0; j--)
        {
            int[] best = [.. Enumerable.Range(0, i + 1).Where(k => Cost(j, k, i) == least[j][i])];
            cuts[j - 1] = i = best[best.Length / 2];
        }
        return least[^1][n];

        int Cost(int part, int from, int to) => least[part - 1][from] + misfits[part][to] - misfits[part][from];
    }

    private static int[] MisfitsUpTo(IReadOnlyList<string?> classes, string part)
    {
        var sum = new int[classes.Count + 1];
        for (int i = 0; i < classes.Count; i++) { sum[i + 1] = sum[i] + (classes[i] is null || classes[i] == part ? 0 : 1); }
        return sum;
    }
}
