namespace HilRunner.Core.Models;

/// <summary>Square roots without floating point: the same on every machine.</summary>
public static class IntegerRoot
{
    /// <summary>⌊√value⌋, digit by digit: the largest r with r·r ≤ value.</summary>
    public static uint Floor(ulong value)
    {
        ulong rest = value;
        ulong root = 0;
        ulong bit = 1UL << 62;
        while (bit > rest) { bit >>= 2; }
        while (bit != 0)
        {
            if (rest >= root + bit)
            {
                rest -= root + bit;
                root = (root >> 1) + bit;
            }
            else
            {
                root >>= 1;
            }
            bit >>= 2;
        }
        return (uint)root;
    }
}
