using HilRunner.Core.Numerics;

namespace HilRunner.Device.Shaking;

/// <summary>
/// A table that follows its command as a mass on a spring with damping does: ẍ = ω₀²(u − x) − 2ζω₀ẋ, with a force that is limited (current) and stops at the ends of its stroke. Its gain at a
/// frequency f is 1/√((1 − r²)² + (2ζr)²), r = f/f₀ (second order; any textbook of vibration).
/// </summary>
/// <param name="naturalHz">f₀.</param>
/// <param name="damping">ζ, as a share of the critical.</param>
/// <param name="strokeM">Either side of the middle.</param>
/// <param name="mostG">What the drive's current can accelerate it by.</param>
internal sealed class TableDynamics(double naturalHz, double damping, double strokeM, double mostG)
{
    private readonly double _omega = 2 * Math.PI * naturalHz;

    /// <summary>In m.</summary>
    public double X { get; private set; }
    /// <summary>In m/s.</summary>
    public double V { get; private set; }
    /// <summary>In m/s².</summary>
    public double A { get; private set; }
    /// <summary>How often it ran into an end.</summary>
    public int Hits { get; private set; }

    /// <summary>One step, by the semi-implicit Euler method: stable while ω₀·dt is well below 1.</summary>
    /// <param name="command">Where it is told to be, in m.</param>
    public void Step(double command, double dt)
    {
        A = Math.Clamp(_omega * _omega * (command - X) - 2 * damping * _omega * V, -mostG * Gravity.Standard,
            mostG * Gravity.Standard);
        V += A * dt;
        X += V * dt;
        if (Math.Abs(X) <= strokeM) { return; }
        // Against the stop it loses its speed at once: what rides on it feels that.
        A = -V / dt;
        (X, V) = (Math.Clamp(X, -strokeM, strokeM), 0);
        Hits++;
    }
}
