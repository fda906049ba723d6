namespace HilRunner.Scoring.Pooling;

/// <summary>Which motions are one stretch of a recording, however it was cut.</summary>
internal static class Stretches
{
    /// <returns>
    /// A number for each motion, in their order: those of one recording that overlap, directly or through others, have the same.
    /// </returns>
    public static int[] Numbers(IReadOnlyList<TrialMotion> motions)
    {
        int[] numbers = new int[motions.Count];
        int number = 0;
        foreach (var recording in Enumerable.Range(0, motions.Count).GroupBy(i => motions[i].Recording, StringComparer.Ordinal))
        {
            long end = long.MinValue;
            foreach (int i in recording.OrderBy(i => motions[i].FromNs))
            {
                if (motions[i].FromNs >= end) { number++; }
                end = Math.Max(end, motions[i].ToNs);
                numbers[i] = number;
            }
        }
        return numbers;
    }
}
