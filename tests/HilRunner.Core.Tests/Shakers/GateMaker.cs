using HilRunner.Core.Shakers;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>Compiled here against the real gates, and by <see cref="MutantTests"/> against others.</summary>
public sealed class GateMaker : IGateMaker
{
    public string? Refuses(Limits limits, double hz, double g) => Of(limits).Refuses(new SineMotion(hz, g));

    public ISineGate Sine(Limits limits, double atS) => new SineUnderTest(new MotionGate(Of(limits), atS));

    public IStreamGate Stream(Limits limits, double rateHz) => new StreamUnderTest(new StreamGate(Of(limits), rateHz));

    private static Envelope Of(Limits l) => new()
    {
        Displacement = l.Displacement, Velocity = l.Velocity, PeakG = l.PeakG, Jerk = l.Jerk, RampGPerS = l.RampGPerS, FromHz = l.FromHz, ToHz = l.ToHz,
        Longest = System.TimeSpan.FromSeconds(l.LongestS), Rest = System.TimeSpan.FromSeconds(l.RestS),
    };

    private sealed class SineUnderTest(MotionGate gate) : ISineGate
    {
        public (double Hz, double G) Now => (gate.Now.Hz, gate.Now.PeakG);

        public string? Refuses(double hz, double g, double atS) => gate.Refuses(new SineMotion(hz, g), atS);
    }

    private sealed class StreamUnderTest(StreamGate gate) : IStreamGate
    {
        public string? Refuses(long nm) => gate.Refuses(nm);
    }
}
