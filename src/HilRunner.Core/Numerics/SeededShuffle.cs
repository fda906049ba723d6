namespace HilRunner.Core.Numerics;

/// <summary>The same order for the same seed, on every machine and version.</summary>
public static class SeededShuffle
{
    /// <summary>Fisher and Yates (1938), as in Knuth, The Art of Computer Programming, vol. 2, algorithm P (from memory).</summary>
    public static void Shuffle<T>(Span<T> items, ulong seed)
    {
        var random = new Xoshiro256(seed);
        for (int i = items.Length - 1; i > 0; i--)
        {
            // The bias of the remainder is below items/2^64.
            int j = (int)(random.Next() % (ulong)(i + 1));
            (items[i], items[j]) = (items[j], items[i]);
        }
    }
}
