using HilRunner.Core.Shakers;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>Whatever is asked, nothing gets past the gate that a second, plain reckoning of the envelope would not let through.</summary>
public class MotionGateTests
{
    private const int Cases = 1_000_000;
    [Test]
    public void Nothing_outside_the_envelope_gets_through()
    {
        var (passed, refused) = GateProperties.Sines(new GateMaker(), Cases);
        TestContext.Out.WriteLine($"{passed} passed, {refused} refused");
        Assert.That(passed, Is.GreaterThan(Cases / 20), "the gate is no wall");
        Assert.That(refused, Is.GreaterThan(Cases / 20));
    }

    [Test]
    public void No_position_outside_the_envelope_gets_through()
    {
        var (passed, refused) = GateProperties.Streams(new GateMaker(), Cases);
        TestContext.Out.WriteLine($"{passed} passed, {refused} refused");
        Assert.That(passed, Is.GreaterThan(Cases / 20), "the gate is no wall");
        Assert.That(refused, Is.GreaterThan(Cases / 20));
    }

    private static readonly Envelope s_envelope = new() { Displacement = 0.01, Velocity = 0.5, PeakG = 2, Jerk = 400, RampGPerS = 0.5, FromHz = 2, ToHz = 100, Longest = TimeSpan.FromSeconds(60), Rest = TimeSpan.FromSeconds(10) };

    /// <summary>Each a slip in the checking that would let this through; named after what was forgotten.</summary>
    [TestCase(101, 0.01, "101 Hz, outside", TestName = "Mutant: the upper frequency")]
    [TestCase(1.9, 0.01, "1.9 Hz, outside", TestName = "Mutant: the lower frequency")]
    [TestCase(50, 2.01, "2.01 g, more than 2 g", TestName = "Mutant: the acceleration")]
    [TestCase(2, 0.17, "mm either side", TestName = "Mutant: the displacement")]
    [TestCase(5, 1.7, "mm either side", TestName = "Mutant: the displacement at a higher frequency")]
    [TestCase(7, 1.98, "mm either side", TestName = "Mutant: the displacement, not its square root")]
    [TestCase(100, 0.65, "jerk", TestName = "Mutant: the jerk")]
    [TestCase(50, -0.01, "no number", TestName = "Mutant: a negative level")]
    [TestCase(50, double.NaN, "no number", TestName = "Mutant: a level that is no number")]
    [TestCase(double.NaN, 0.01, "no number", TestName = "Mutant: a frequency that is no number")]
    [TestCase(double.PositiveInfinity, 0.01, "no number", TestName = "Mutant: a frequency without end")]
    public void The_envelope_refuses(double hz, double g, string why) => Assert.That(s_envelope.Refuses(new(hz, g)), Does.Contain(why));

    [Test]
    public void The_velocity_is_refused_too() => Assert.That((s_envelope with { Displacement = 1 }).Refuses(new(2, 1)), Does.Contain("m/s, more than 0.5 m/s"), "mutant: the velocity");

    [Test]
    public void Levels_change_softly_and_frequencies_only_at_rest()
    {
        var gate = new MotionGate(s_envelope, 0);
        Assert.Multiple(() =>
        {
            Assert.That(gate.Refuses(new(16, 0.06), 100), Does.Contain("faster than"), "mutant: a long wait is leave for a large step");
            Assert.That(gate.Refuses(new(16, 0.05), 100), Is.Null);
            Assert.That(gate.Refuses(new(16, 0.09), 100.05), Does.Contain("faster than"), "mutant: the ramp");
            Assert.That(gate.Refuses(new(16, 0.07), 100.05), Is.Null);
            Assert.That(gate.Refuses(new(17, 0.07), 100.1), Does.Contain("only from rest"), "mutant: the frequency while it moves");
            Assert.That(gate.Refuses(new(16, 0), 100.15), Does.Contain("faster than"), "mutant: a jump to rest");
            Assert.That(gate.Refuses(new(16, 0.07), 100.01), Does.Contain("backwards"), "mutant: time");
        });
        var hard = new MotionGate(s_envelope with { Jerk = 2, RampGPerS = 50 }, 0);
        Assert.That(hard.Refuses(new(2, 0.1), 1), Does.Contain("a step of"), "mutant: the step's own jerk");
        var quick = new MotionGate(s_envelope with { RampGPerS = 50, Jerk = 1e5, Displacement = 1, Velocity = 100 }, 0);
        Assert.That(quick.Refuses(new(2, 0.3), 1), Does.Contain("while it is taken up, to more than 2 g"), "mutant: what a growing amplitude adds");
        var slow = new MotionGate(s_envelope with { RampGPerS = 50, Jerk = 1e5, Displacement = 1 }, 0);
        Assert.That(slow.Refuses(new(2, 0.15), 1), Does.Contain("m/s while it is taken up"), "mutant: and to the velocity");
    }

    [Test]
    public void It_rests_after_its_longest_motion()
    {
        var gate = new MotionGate(s_envelope, 0);
        Assert.That(gate.Refuses(new(16, 0.05), 1), Is.Null);
        Assert.That((gate.IsOverdue(60.9), gate.IsOverdue(61.1)), Is.EqualTo((false, true)), "mutant: nothing is asked, and it moves on");
        Assert.That(gate.Refuses(new(16, 0.05), 61.1), Does.Contain("it must rest"), "mutant: the longest motion");
        gate.Stopped(61.2);
        Assert.That(gate.Refuses(new(16, 0.05), 70), Does.Contain("it must rest"), "mutant: the rest");
        Assert.That(gate.Refuses(new(16, 0.05), 71.3), Is.Null);
        // What it did before counts, in another process too.
        Assert.That(new MotionGate(s_envelope, 0, new(60.5, 3)).Refuses(new(16, 0.05), 0.1), Does.Contain("it must rest"), "mutant: a new process begins anew");
        Assert.That(new MotionGate(s_envelope, 0, new(60.5, 10)).Refuses(new(16, 0.05), 0.1), Is.Null);
        // Short pauses add nothing.
        gate.Stopped(100);
        Assert.That(gate.Refuses(new(16, 0.05), 105), Is.Null);
        Assert.That(gate.IsOverdue(105 + 60 - (100 - 71.3) + 0.1), "mutant: a short pause counts as a rest");
    }
}
