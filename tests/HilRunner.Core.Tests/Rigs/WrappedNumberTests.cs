using CsCheck;
using HilRunner.Core.Time;

namespace HilRunner.Core.Tests.Rigs;

/// <summary>Sample numbers of any width run on, by what had been sent when the device said them.</summary>
public class WrappedNumberTests
{
    /// <summary>Against the definition: of all numbers that show so, the largest that may have been said by then.</summary>
    [Test]
    public void ItIsTheNumberAsLongAsTheDeviceIsLessThanThreeQuartersOfAWrapBehind() => Gen
        .Select(Gen.Int[8, 20], Gen.Long[0, 5_000_000], Gen.Double[0, 0.74])
        .Sample((bits, n, behind) =>
        {
            long wraps = 1L << bits, sent = n + 1 + (long)(behind * wraps);
            Assert.That(WrappedNumber.Sample(n % wraps, wraps, sent), Is.EqualTo(n), $"{bits} bits, {n}, {sent} sent");
        });

    [TestCase(5, 0, 1_000_000, 5, Description = "it does not wrap")]
    [TestCase(-56, 256, 201, 200, Description = "a signed field of 8 bits")]
    [TestCase(255, 256, 0, 255, Description = "more than was sent: as it is")]
    [TestCase(0, 256, 257, 256)]
    public void Edges(long raw, long wraps, long sent, long expected) =>
    Assert.That(WrappedNumber.Sample(raw, wraps, sent), Is.EqualTo(expected));
}
