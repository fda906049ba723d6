namespace HilRunner.Core.Numerics;

/// <summary>
/// Independent seeds that follow from one: the run's seed, then the step's place, then what the numbers are for. What one
/// branch draws never depends on another.
/// </summary>
internal readonly record struct SeedTree(ulong State)
{
    /// <summary>The seed of a generator.</summary>
    public ulong Value => Mixed();

    public SeedTree Branch(ulong key) => new(Mixed() ^ key);

    private ulong Mixed()
    {
        ulong state = State;
        return Xoshiro256.Mix(ref state);
    }
}
