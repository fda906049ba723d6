namespace HilRunner.Testing;

/// <summary>Bytes that a piece of work takes from the heap.</summary>
internal static class Allocated
{
    private const int Rounds = 5;

    /// <summary>
    /// The least of a few rounds. A collection that other threads cause counts what was left of this thread's own piece of the heap,
    /// up to 8 kB, as allocated; what the work itself allocates comes in every round.
    /// </summary>
    public static long Least(Action work)
    {
        long least = long.MaxValue;
        for (int round = 0; round < Rounds && least > 0; round++)
        {
            long before = GC.GetAllocatedBytesForCurrentThread();
            work();
            least = Math.Min(least, GC.GetAllocatedBytesForCurrentThread() - before);
        }
        return least;
    }
}
