using CsCheck;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>Whatever is asked, nothing gets past a gate that a second, plain reckoning of the envelope would not let through.</summary>
internal static class GateProperties
{
    private const int Commands = 12, Positions = 60;

    private static readonly double[] s_oddest = [0, -1, double.NaN, double.PositiveInfinity, double.NegativeInfinity, double.MaxValue, 1e-300];

    private static readonly Gen<double> s_odd = Gen.Frequency((30, Gen.Double[0.0001, 1].Select(x => Math.Pow(10, 4 * x - 2))), (1, Gen.Int[0, 6].Select(i => s_oddest[i])));

    /// <summary>Times in whole microseconds: rig files have no finer ones, and a TimeSpan none below 100 ns.</summary>
    private static readonly Gen<Limits> s_limits = Gen.Select(Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1], Gen.Double[0, 1]).Select((x, v, a, j, r, f, t) =>
        new Limits(Math.Pow(10, -5 + 4 * x), Math.Pow(10, -3 + 4 * v), Math.Pow(10, -2 + 3 * a), Math.Pow(10, 5 * j), Math.Pow(10, -2 + 3 * r), 1 + 10 * f, 20 + 200 * f, Math.Round(1 + 60 * t, 6), Math.Round(30 * t, 6)));

    /// <summary>Asked for: wild commands, and small steps from what is under way.</summary>
    private static readonly Gen<(double Wait, double Hz, double G, bool Wild)[]> s_commands = Gen.Select(Gen.Double[-0.01, 1].Select(w => w < 0.7 ? w * 0.2 : w * 30), s_odd, s_odd, Gen.Bool).Array[Commands];

    /// <summary>Motions about as strong as the envelope allows at their frequency, or odd ones.</summary>
    private static readonly Gen<(Limits Limits, double Hz, double G)> s_still = Gen.Select(s_limits, Gen.Double[-0.1, 1.1], Gen.Double[0.5, 1.5], s_odd, Gen.Int[0, 20]).Select((limits, place, share, odd, how) =>
    {
        double hz = limits.FromHz * Math.Pow(limits.ToHz / limits.FromHz, place), w = 2 * Math.PI * hz;
        double most = new[] { limits.PeakG, limits.Displacement * w * w / 9.80665, limits.Velocity * w / 9.80665, limits.Jerk / w }.Min();
        return (limits, how == 0 ? odd : hz, how == 1 ? odd : how == 2 ? -share * most : share * most);
    });

    /// <summary>How each next position is made: by a push of one derivative, as a share of its limit that may be a little above 1, or wildly.</summary>
    private static readonly Gen<(int How, double Share, long Wild)[]> s_positions = Gen.Select(Gen.Int[0, 20], Gen.Double[-1.1, 1.1], Gen.Long).Array[Positions];

    /// <exception cref="CsCheckException">Something got through; the message has the seed.</exception>
    public static (long Passed, long Refused) Sines(IGateMaker maker, int cases)
    {
        s_still.Sample((limits, hz, g) => maker.Refuses(limits, hz, g) is not null || Still(limits, hz, g), iter: cases / 4);
        long passed = 0, refused = 0;
        Gen.Select(s_limits, s_commands).Sample((limits, commands) =>
        {
            var gate = maker.Sine(limits, 100);
            var twin = new SineTwin(limits, 100);
            double at = 100;
            foreach (var (wait, hz, g, wild) in commands)
            {
                at += wait;
                var now = gate.Now;
                double step = limits.RampGPerS * Math.Min(Math.Abs(wait), 0.1);
                var next = wild ? (hz, g) : now.G > 0 || !double.IsFinite(hz) ? (now.Hz, G: Math.Max(0, now.G + (g > 1 ? 1 : -1) * step * 0.9)) : (Hz: Math.Clamp(hz, limits.FromHz, limits.ToHz), G: step * 0.5);
                bool through = gate.Refuses(next.Item1, next.Item2, at) is null;
                Interlocked.Increment(ref through ? ref passed : ref refused);
                if (through && !twin.Allows(next.Item1, next.Item2, at)) { return false; }
                // What was refused changes nothing.
                if (gate.Now != (through ? next : now)) { return false; }
                if (through) { twin.Pass(next.Item1, next.Item2, at); }
            }
            return true;
        }, iter: cases / Commands);
        return (passed, refused);
    }

    /// <exception cref="CsCheckException">Something got through; the message has the seed.</exception>
    public static (long Passed, long Refused) Streams(IGateMaker maker, int cases)
    {
        long passed = 0, refused = 0;
        Gen.Select(s_limits, Gen.Double[8, 30], s_positions).Sample((limits, ratio, positions) =>
        {
            double rate = ratio * limits.ToHz;
            var gate = maker.Stream(limits, rate);
            List<long> sent = [0, 0, 0];
            foreach (var (how, share, wild) in positions)
            {
                long x = sent[^1], v = x - sent[^2], a = v - (sent[^2] - sent[^3]), next = how switch
                {
                    0 => wild,
                    1 => wild % 1000,
                    < 5 => Near(share * limits.Displacement * 1e9),
                    < 9 => Near(x + share * limits.Velocity / rate * 1e9),
                    < 13 => Near(x + v + share * limits.PeakG * 9.80665 / rate / rate * 1e9),
                    < 17 => Near(x + v + a + share * limits.Jerk * 9.80665 / rate / rate / rate * 1e9),
                    < 20 => Near(x + v + share * (limits.RampGPerS * (sent.Count - 2) / rate + 0.002) * 9.80665 / rate / rate * 1e9),
                    _ => x + v + a,
                };
                bool through = gate.Refuses(next) is null;
                Interlocked.Increment(ref through ? ref passed : ref refused);
                if (!through) { continue; }
                sent.Add(next);
                if (!Allowed(sent, limits, rate)) { return false; }
            }
            return true;
        }, iter: cases / Positions);
        return (passed, refused);
    }

    private static long Near(double nm) => double.IsFinite(nm) && Math.Abs(nm) < 9e18 ? (long)nm : long.MaxValue;

    /// <summary>The last position of a stream by the definition of the derivatives: of a sine of an eighth of the rate they are sin x / x, x = π/8, and its powers, of the true peak.</summary>
    private static bool Allowed(List<long> sent, Limits l, double rate)
    {
        const double near = 1 + 1e-9;
        double share = Math.Sin(Math.PI / 8) / (Math.PI / 8), dt = 1 / rate;
        double[] x = [.. sent[^4..].Select(nm => nm / 1e9)];
        double v = (x[3] - x[2]) / dt, a = (x[3] - 2 * x[2] + x[1]) / dt / dt / 9.80665, j = (x[3] - 3 * x[2] + 3 * x[1] - x[0]) / dt / dt / dt / 9.80665, began = (sent.Count - 3) * dt;
        return Math.Abs(x[3]) <= l.Displacement * near && Math.Abs(v) <= l.Velocity * share * near && Math.Abs(a) <= l.PeakG * share * share * near && Math.Abs(j) <= l.Jerk * share * share * share * near && Math.Abs(a) <= (l.RampGPerS * began + 0.002) * near;
    }

    /// <summary>The envelope of a sine by its definition: displacement, velocity, acceleration and jerk of x(t) = X sin ωt.</summary>
    private static bool Still(Limits e, double hz, double g)
    {
        const double near = 1 + 1e-9;
        double w = 2 * Math.PI * hz, x = g * 9.80665 / w / w;
        return hz >= e.FromHz && hz <= e.ToHz && g >= 0 && x <= e.Displacement * near && w * x <= e.Velocity * near && w * w * x <= e.PeakG * 9.80665 * near && w * w * w * x <= e.Jerk * 9.80665 * near;
    }

    /// <summary>The gate once more, from what went through before.</summary>
    private sealed class SineTwin(Limits e, double start)
    {
        private readonly List<(double At, double Hz, double G)> _history = [(start, e.FromHz, 0)];

        public void Pass(double hz, double g, double at) => _history.Add((at, hz, g));

        public bool Allows(double hz, double g, double at)
        {
            const double near = 1 + 1e-9;
            var (before, lastHz, lastG) = _history[^1];
            double w = 2 * Math.PI * hz;
            bool soft = at >= before && Math.Abs(g - lastG) <= e.RampGPerS * Math.Min(at - before, 0.1) * near && (hz == lastHz || lastG == 0);
            bool jerk = Math.Max(hz * g, lastHz * lastG) * 2 * Math.PI + Math.Abs(g - lastG) / 0.02 <= e.Jerk * near;
            // Taking a step up: dX/dt = step / 20 ms, with 2 · dX/dt · ω more acceleration and dX/dt more velocity.
            double rate = Math.Abs(g - lastG) * 9.80665 / w / w / 0.02;
            bool takenUp = Math.Max(g, lastG) * 9.80665 + 2 * rate * w <= e.PeakG * 9.80665 * near && Math.Max(g * 9.80665 / w, lastG * 9.80665 / (2 * Math.PI * lastHz)) + rate <= e.Velocity * near;
            return Still(e, hz, g) && soft && jerk && takenUp && (g == 0 || Moved(at) <= e.LongestS * near);
        }

        /// <summary>Seconds of motion since the last rest that was long enough, command by command.</summary>
        private double Moved(double now)
        {
            double moved = 0, rest = double.PositiveInfinity;
            for (int i = 0; i < _history.Count; i++)
            {
                double length = (i + 1 < _history.Count ? _history[i + 1].At : now) - _history[i].At;
                if (_history[i].G > 0)
                {
                    if (rest >= e.RestS) { moved = 0; }
                    (moved, rest) = (moved + length, 0);
                }
                else { rest += length; }
            }
            return rest >= e.RestS ? 0 : moved;
        }
    }
}
