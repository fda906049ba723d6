using CsCheck;
using HilRunner.Core.Shakers;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>Whatever is asked, nothing gets past the gate that a second, plain reckoning of the envelope would not let through. HIL_LONG=1: a million motions.</summary>
public class MotionGateTests
{
    private static readonly int s_cases = Environment.GetEnvironmentVariable("HIL_LONG") == "1" ? 1_000_000 : 100_000;
    private const int Commands = 12;

    private static readonly double[] s_oddest = [0, -1, double.NaN, double.PositiveInfinity, double.NegativeInfinity, double.MaxValue, 1e-300];

    private static readonly Gen<double> s_odd = Gen.Frequency((30, Gen.Double[0.0001, 1].Select(x => Math.Pow(10, 4 * x - 2))), (1, Gen.Int[0, 6].Select(i => s_oddest[i])));

    private static readonly Gen<Envelope> s_envelopes = Gen.Select(Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1]).Select((x, v, a, j, r, f, t) => new Envelope
    {
        Displacement = Math.Pow(10, -5 + 4 * x), Velocity = Math.Pow(10, -3 + 4 * v), PeakG = Math.Pow(10, -2 + 3 * a), Jerk = Math.Pow(10, 5 * j), RampGPerS = Math.Pow(10, -2 + 3 * r),
        FromHz = 1 + 10 * f, ToHz = 20 + 200 * f, Longest = TimeSpan.FromSeconds(1 + 60 * t), Rest = TimeSpan.FromSeconds(30 * t),
    });

    /// <summary>Asked for: wild commands, and small steps from what is under way.</summary>
    private static readonly Gen<(double Wait, double Hz, double G, bool Wild)[]> s_commands = Gen.Select(Gen.Double[-0.01, 1].Select(w => w < 0.7 ? w * 0.2 : w * 30), s_odd, s_odd, Gen.Bool).Array[Commands];

    [Test]
    public void Nothing_outside_the_envelope_gets_through()
    {
        int passed = 0, refused = 0;
        Gen.Select(s_envelopes, s_commands).Sample((envelope, commands) =>
        {
            var gate = new MotionGate(envelope, 100);
            var twin = new Twin(envelope, 100);
            double at = 100;
            foreach (var (wait, hz, g, wild) in commands)
            {
                at += wait;
                var now = gate.Now;
                SineMotion next = wild ? new(hz, g) : now.PeakG > 0 || !double.IsFinite(hz) ? now with { PeakG = now.PeakG + (g > 1 ? 1 : -1) * envelope.RampGPerS * Math.Min(Math.Abs(wait), 0.1) * 0.9 } : new(Math.Clamp(hz, envelope.FromHz, envelope.ToHz), envelope.RampGPerS * Math.Min(Math.Abs(wait), 0.1) * 0.5);
                bool through = gate.Refuses(next, at) is null;
                if (through) { Interlocked.Increment(ref passed); } else { Interlocked.Increment(ref refused); }
                Assert.That(through && !twin.Allows(next, at), Is.False, $"{next} at {at} after {now} in {envelope}");
                Assert.That(gate.Now, Is.EqualTo(through ? next : now), "what was refused changes nothing");
                if (through) { twin.Pass(next, at); }
            }
        }, iter: s_cases / Commands);
        TestContext.Out.WriteLine($"{passed} passed, {refused} refused");
        Assert.That(passed, Is.GreaterThan(s_cases / 20), "the gate is no wall");
        Assert.That(refused, Is.GreaterThan(s_cases / 20));
    }

    /// <summary>The envelope once more, by its definition: displacement, velocity, acceleration and jerk of x(t) = X sin ωt.</summary>
    private sealed class Twin(Envelope e, double start)
    {
        private readonly List<(double At, SineMotion Motion)> _history = [(start, new(e.FromHz, 0))];

        public void Pass(SineMotion motion, double at) => _history.Add((at, motion));

        public bool Allows(SineMotion m, double at)
        {
            const double near = 1 + 1e-9;
            var (before, last) = _history[^1];
            double w = 2 * Math.PI * m.Hz, x = m.PeakG * 9.80665 / w / w;
            bool still = m.Hz >= e.FromHz && m.Hz <= e.ToHz && m.PeakG >= 0 && x <= e.Displacement * near && w * x <= e.Velocity * near && w * w * x <= e.PeakG * 9.80665 * near && w * w * w * x <= e.Jerk * 9.80665 * near;
            bool soft = at >= before && Math.Abs(m.PeakG - last.PeakG) <= e.RampGPerS * Math.Min(at - before, 0.1) * near && (m.Hz == last.Hz || last.PeakG == 0);
            bool jerk = Math.Max(m.Hz * m.PeakG, last.Hz * last.PeakG) * 2 * Math.PI + Math.Abs(m.PeakG - last.PeakG) / 0.02 <= e.Jerk * near;
            // Taking a step up: dX/dt = step / 20 ms, with 2 · dX/dt · ω more acceleration and dX/dt more velocity.
            double rate = Math.Abs(m.PeakG - last.PeakG) * 9.80665 / w / w / 0.02;
            bool takenUp = Math.Max(m.PeakG, last.PeakG) * 9.80665 + 2 * rate * w <= e.PeakG * 9.80665 * near && Math.Max(m.PeakG * 9.80665 / w, last.PeakG * 9.80665 / (2 * Math.PI * last.Hz)) + rate <= e.Velocity * near;
            return still && soft && jerk && takenUp && (m.PeakG == 0 || Moved(at) <= e.Longest.TotalSeconds * near);
        }

        /// <summary>Seconds of motion since the last rest that was long enough, command by command.</summary>
        private double Moved(double now)
        {
            double moved = 0, rest = double.PositiveInfinity;
            for (int i = 0; i < _history.Count; i++)
            {
                double length = (i + 1 < _history.Count ? _history[i + 1].At : now) - _history[i].At;
                if (_history[i].Motion.PeakG > 0)
                {
                    if (rest >= e.Rest.TotalSeconds) { moved = 0; }
                    (moved, rest) = (moved + length, 0);
                }
                else { rest += length; }
            }
            return rest >= e.Rest.TotalSeconds ? 0 : moved;
        }
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
        // Short pauses add nothing.
        gate.Stopped(100);
        Assert.That(gate.Refuses(new(16, 0.05), 105), Is.Null);
        Assert.That(gate.IsOverdue(105 + 60 - (100 - 71.3) + 0.1), "mutant: a short pause counts as a rest");
    }
}
