using HilRunner.Core.Numerics;
using HilRunner.Core.Shakers;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>Handbook relations of displacement, velocity and acceleration (elementary mechanics), and cross-over frequencies of IEC 60068-2-6:2007.</summary>
public class SineMotionTests
{
    [TestCase(1, 25, 157.080, 0.98696)]
    [TestCase(2, 10, 125.664, 1.57914)]
    [TestCase(5, 5, 157.080, 4.93480)]
    [TestCase(10, 1, 62.832, 3.94784)]
    [TestCase(50, 0.1, 31.416, 9.86960)]
    [TestCase(100, 0.05, 31.416, 19.7392)]
    public void A_displacement_has_its_velocity_and_acceleration(double hz, double mm, double mmPerS, double mPerS2)
    {
        var motion = new SineMotion(hz, mPerS2 / 9.80665);
        Assert.Multiple(() =>
        {
            Assert.That(motion.Displacement * 1000, Is.EqualTo(mm).Within(1e-4 * mm));
            Assert.That(motion.Velocity * 1000, Is.EqualTo(mmPerS).Within(1e-4 * mmPerS));
            Assert.That(motion.Acceleration, Is.EqualTo(mPerS2).Within(1e-12 * mPerS2));
        });
    }

    /// <summary>2 Hz at 0.3 g needs 18.6 mm peak: small tables cannot play gait.</summary>
    [Test]
    public void Gait_needs_a_long_stroke() => Assert.That(new SineMotion(2, 0.3).Displacement * 1000, Is.EqualTo(18.6).Within(0.05));

    [TestCase(0.035, 4.9, 59.55)]
    [TestCase(0.075, 9.8, 57.53)]
    [TestCase(0.15, 19.6, 57.53)]
    [TestCase(0.35, 49, 59.55)]
    [TestCase(3.5, 9.8, 8.42)]
    [TestCase(1, 7, 13.32)]
    [TestCase(10, 30, 8.72)]
    public void Displacement_and_acceleration_cross_over(double mm, double mPerS2, double hz) => Assert.That(SineMotion.CrossOverHz(mm / 1000, mPerS2), Is.EqualTo(hz).Within(0.005));

    /// <summary>UN Manual of Tests and Criteria 38.3, T.3: 0.8 mm reach 8 g at 49.84 Hz; 1 g at 17.62 Hz.</summary>
    [TestCase(8, 49.84)]
    [TestCase(1, 17.62)]
    public void Transport_test_of_cells_crosses_over(double g, double hz) =>
        Assert.That(SineMotion.CrossOverHz(0.0008, g * Gravity.Standard), Is.EqualTo(hz).Within(0.005));
}
