using CsCheck;
using HilRunner.Core.Numerics;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Signals;

public class PortableMathTests
{
    [Test]
    public void Sine_and_cosine_agree_with_the_library()
    {
        Gen.Double[-0.5, 0.5].Sample(turns =>
        {
            var (sin, cos) = PortableMath.SinCosTurns(turns);
            Assert.That(sin, Is.EqualTo(Math.Sin(2 * Math.PI * turns)).Within(6e-16), $"sin of {turns:R} turns");
            Assert.That(cos, Is.EqualTo(Math.Cos(2 * Math.PI * turns)).Within(6e-16), $"cos of {turns:R} turns");
        }, iter: 20_000);
    }

    [Test]
    public void Whole_turns_change_nothing() => Gen.Select(Gen.Int[-4096, 4096], Gen.Int[-1_000_000, 1_000_000]).Sample((eighths, turns) =>
        PortableMath.SinCosTurns(eighths / 8192.0) == PortableMath.SinCosTurns(eighths / 8192.0 + turns));

    [TestCase(0, 0, 1)]
    [TestCase(0.25, 1, 0)]
    [TestCase(-0.25, -1, 0)]
    [TestCase(0.5, 0, -1)]
    [TestCase(-0.5, 0, -1)]
    [TestCase(7.75, -1, 0)]
    public void Quarter_turns_are_exact(double turns, double sin, double cos) =>
        Assert.That(PortableMath.SinCosTurns(turns), Is.EqualTo((sin, cos)));

    [Test]
    public void Logarithm_agrees_with_the_library() => Gen.Double[-700.0, 700.0].Sample(power =>
    {
        double x = Math.Exp(power), log = Math.Log(x);
        Assert.That(PortableMath.Log(x), Is.EqualTo(log).Within(Math.Max(1e-15 * Math.Abs(log), 1e-18)), $"{x:R}");
    }, iter: 20_000);

    [Test]
    public void Logarithm_is_exact_near_one()
    {
        double[] x = [1, 1 - 1e-10, 1 + 1e-10, 0.99, 1.01, Math.Sqrt(0.5), Math.Sqrt(2), 2];
        Assert.That(x.Select(PortableMath.Log), Is.EqualTo(Scipy.Evaluate("np.log(x)", x)).Within(1).Ulps.Or.EqualTo(Scipy.Evaluate("np.log(x)", x)).Within(2e-16));
    }

    [Test]
    public void Exponential_agrees_with_the_library() => Gen.Double[-700.0, 700.0].Sample(x =>
        Assert.That(PortableMath.Exp(x), Is.EqualTo(Math.Exp(x)).Within(1e-15 * Math.Exp(x)), $"{x:R}"), iter: 20_000);

    [Test]
    public void Growth_agrees_with_the_reference_library()
    {
        double[] x = [.. Enumerable.Range(-200, 401).Select(i => i * 0.01), 0, 1e-12, -1e-9, 0.5, -0.5, 30, -30];
        double[] expected = Scipy.Evaluate("sp.exprel(x)", x);
        for (int i = 0; i < x.Length; i++) { Assert.That(PortableMath.Growth(x[i]), Is.EqualTo(expected[i]).Within(2e-15 * expected[i]), $"{x[i]:R}"); }
    }

    [Test]
    public void Bessel_function_agrees_with_the_reference_library()
    {
        double[] x = [.. Enumerable.Range(0, 101).Select(i => i * 0.2)];
        double[] expected = Scipy.Evaluate("sp.i0(x)", x);
        for (int i = 0; i < x.Length; i++) { Assert.That(PortableMath.BesselI0(x[i]), Is.EqualTo(expected[i]).Within(1e-15 * 4 * expected[i])); }
    }
}
