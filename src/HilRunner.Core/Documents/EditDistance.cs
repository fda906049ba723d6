namespace HilRunner.Core.Documents;

/// <summary>Finds what a mistyped word was meant to be.</summary>
internal static class EditDistance
{
    /// <summary>The nearest candidate, or null when none is near: at most a third of the word's letters differ, at least one may.</summary>
    public static string? Nearest(string word, IEnumerable<string> candidates)
    {
        int limit = Math.Max(1, word.Length / 3);
        // A word is as far from another as their lengths differ, at least.
        return candidates.Where(c => Math.Abs(c.Length - word.Length) <= limit).Select(c => (Word: c, Distance: Between(word, c)))
            .Where(c => c.Distance <= limit)
            .OrderBy(c => c.Distance).ThenBy(c => c.Word, StringComparer.Ordinal)
            .Select(c => c.Word).FirstOrDefault();
    }

    /// <summary>
    /// Fewest insertions, deletions, substitutions and swaps of neighbours, no part edited twice (optimal string alignment:
    /// Levenshtein 1966 with Damerau's 1964 transposition).
    /// </summary>
    public static int Between(string a, string b)
    {
        var d = new int[a.Length + 1, b.Length + 1];
        for (int i = 0; i <= a.Length; i++) { d[i, 0] = i; }
        for (int j = 0; j <= b.Length; j++) { d[0, j] = j; }
        for (int i = 1; i <= a.Length; i++)
        {
            for (int j = 1; j <= b.Length; j++)
            {
                int cost = a[i - 1] == b[j - 1] ? 0 : 1;
                d[i, j] = Math.Min(Math.Min(d[i - 1, j] + 1, d[i, j - 1] + 1), d[i - 1, j - 1] + cost);
                if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                {
                    d[i, j] = Math.Min(d[i, j], d[i - 2, j - 2] + 1);
                }
            }
        }
        return d[a.Length, b.Length];
    }
}
