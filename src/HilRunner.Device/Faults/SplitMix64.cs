namespace HilRunner.Device.Faults;

/// <summary>
/// A small seeded generator (Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014): the same
/// seed gives the same faults on every machine.
/// </summary>
internal struct SplitMix64(ulong seed)
{
    private ulong _state = seed;

    public ulong Next()
    {
        _state += 0x9E3779B97F4A7C15;
        ulong z = _state;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }

    /// <summary>Uniform in [0, 1), 53 bits.</summary>
    public double NextShare() => (Next() >> 11) * (1.0 / (1UL << 53));
}
