using HilRunner.Core.Runs;

namespace HilRunner.Core.Tests.Runs;

public class SpeedsTests
{
    [TestCase("real", 1.0)]
    [TestCase("4x", 4.0)]
    [TestCase("0.5x", 0.5)]
    public void AFactorIsRead(string speed, double factor) => Assert.That(Speeds.Factor(speed), Is.EqualTo((decimal)factor));

    [Test]
    public void MaxHasNoFactor() => Assert.That(Speeds.Factor("max"), Is.Null);

    [TestCase("")]
    [TestCase("fast")]
    [TestCase("4")]
    [TestCase("-1x")]
    [TestCase("0x")]
    [TestCase("1e9x")]
    public void AnythingElseIsRefused(string speed) => Assert.That(() => Speeds.Factor(speed), Throws.InstanceOf<FormatException>());
}
