namespace HilRunner.Scoring;

internal static class SortedExtensions
{
    /// <summary>By key, ordinally: equal scores are written with equal bytes.</summary>
    public static SortedDictionary<string, TResult> ToSorted<TValue, TResult>(
        this IEnumerable<KeyValuePair<string, TValue>> pairs, Func<KeyValuePair<string, TValue>, TResult> value)
    {
        var sorted = new SortedDictionary<string, TResult>(StringComparer.Ordinal);
        foreach (var pair in pairs) { sorted.Add(pair.Key, value(pair)); }
        return sorted;
    }
}
