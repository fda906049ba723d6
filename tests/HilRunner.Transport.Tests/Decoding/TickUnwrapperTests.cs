using CsCheck;
using HilRunner.Transport.Decoding;

namespace HilRunner.Transport.Tests.Decoding;

public class TickUnwrapperTests
{
    [Test]
    public void A_wrapping_clock_with_small_reordering_is_unwrapped() =>
        Gen.Select(Gen.Bool.Select(wide => wide ? 32 : 16), Gen.ULong[0, 1UL << 40], Gen.Double[0, 0.8].Array[1, 100], Gen.Bool.Array[100]).Sample((bits, start, steps, swaps) =>
        {
            double range = Math.Pow(2, bits);
            var truth = new List<ulong> { start };
            foreach (double step in steps) { truth.Add(truth[^1] + (ulong)(step * range)); }
            // Neighbours overtake each other, where they are less than an eighth of the range apart.
            ulong near = (ulong)(range / 8) - 1;
            for (int i = 1; i + 2 < truth.Count; i += 2)
            {
                if (swaps[i % swaps.Length] && truth[i + 1] - truth[i] <= near && truth[i + 1] - truth[i - 1] < range * 0.8) { (truth[i], truth[i + 1]) = (truth[i + 1], truth[i]); }
            }
            var unwrapper = new TickUnwrapper(bits);
            ulong mask = (1UL << bits) - 1;
            long offset = (long)(start - (start & mask));
            foreach (ulong tick in truth) { Assert.That(unwrapper.Unwrap(tick & mask), Is.EqualTo((long)tick - offset)); }
        }, iter: 2000);

    [Test]
    public void Sixty_four_bits_pass_and_a_reset_starts_anew()
    {
        Assert.That(new TickUnwrapper(64).Unwrap(1UL << 50), Is.EqualTo(1L << 50));
        var unwrapper = new TickUnwrapper(16);
        unwrapper.Unwrap(60_000);
        Assert.That(unwrapper.Unwrap(5), Is.EqualTo(65_541));
        unwrapper.Reset();
        Assert.That(unwrapper.Unwrap(5), Is.EqualTo(5));
        Assert.That(() => unwrapper.Unwrap(65_536), Throws.TypeOf<ArgumentOutOfRangeException>());
    }
}
