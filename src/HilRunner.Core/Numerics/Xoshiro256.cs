using System.Numerics;

namespace HilRunner.Core.Numerics;

/// <summary>
/// xoshiro256** (Blackman and Vigna, Scrambled Linear Pseudorandom Number Generators, ACM Trans. Math. Softw. 47(4), 2021),
/// its state filled by SplitMix64 (Steele, Lea and Flood, OOPSLA 2014) as its authors advise. Not for secrets.
/// Own, because the library's seeded generator may change between versions of .NET.
/// </summary>
public struct Xoshiro256
{
    private ulong _s0, _s1, _s2, _s3;

    public Xoshiro256(ulong seed) : this(Mix(ref seed), Mix(ref seed), Mix(ref seed), Mix(ref seed)) { }

    public Xoshiro256(ulong s0, ulong s1, ulong s2, ulong s3) => (_s0, _s1, _s2, _s3) = (s0, s1, s2, s3);

    public ulong Next()
    {
        ulong result = BitOperations.RotateLeft(_s1 * 5, 7) * 9;
        ulong shifted = _s1 << 17;
        _s2 ^= _s0;
        _s3 ^= _s1;
        _s1 ^= _s2;
        _s0 ^= _s3;
        _s2 ^= shifted;
        _s3 = BitOperations.RotateLeft(_s3, 45);
        return result;
    }

    /// <summary>Uniform in [0, 1), 53 bits.</summary>
    public double NextShare() => (Next() >> 11) * (1.0 / (1UL << 53));

    /// <summary>SplitMix64: moves <paramref name="state"/> on and returns its scrambled value.</summary>
    public static ulong Mix(ref ulong state)
    {
        state += 0x9E37_79B9_7F4A_7C15;
        ulong z = state;
        z = (z ^ (z >> 30)) * 0xBF58_476D_1CE4_E5B9;
        z = (z ^ (z >> 27)) * 0x94D0_49BB_1331_11EB;
        return z ^ (z >> 31);
    }
}
