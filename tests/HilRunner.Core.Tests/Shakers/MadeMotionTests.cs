using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Shakers;
using HilRunner.Core.Signals;
using HilRunner.Core.Time;

namespace HilRunner.Core.Tests.Shakers;

/// <summary>Sweeps and random vibration as standards specify them, once they have become the table's motion.</summary>
public class MadeMotionTests
{
    private static readonly Envelope s_envelope = new() { Displacement = 0.01, Velocity = 0.5, PeakG = 5, Jerk = 5000, RampGPerS = 1, FromHz = 2, ToHz = 100, Longest = TimeSpan.FromMinutes(10), Rest = TimeSpan.FromSeconds(10) };
    private static readonly SampleRate s_rate = new(400_000), s_positions = new(1_000_000);

    /// <summary>IEC 60068-2-6: from 10 Hz to 55 Hz at one octave a minute are 2.459 octaves, 147.6 s and 3 895.3 cycles (elementary; f₁·60/ln 2·(2ⁿ − 1)).</summary>
    [Test]
    public void AnExponentialSweepHasTheCyclesOfTheStandard()
    {
        double octaves = Math.Log2(55.0 / 10), seconds = 60 * octaves;
        Assert.That(octaves, Is.EqualTo(2.459).Within(0.0005));
        var built = Built(FormattableString.Invariant($"synth: {{sweep: {{from: 10 Hz, to: 55 Hz}}, peak: 0.5 g, axis: z, for: {seconds:0.0000} s}}"));
        // Of the acceleration: a displacement of 0.04 mm at 55 Hz rides on what the washout leaves at 2 Hz.
        double[] made = [.. built.Motion.ToldG().Skip(built.Motion.Lead).Take((int)(seconds * 1000))];
        int crossings = made.Zip(made.Skip(1)).Count(p => p.First < 0 != p.Second < 0);
        Assert.That(crossings / 2.0, Is.EqualTo(3895.3).Within(1.5));
        // An octave up after a minute: 20 Hz, by the cycles of the second around it.
        int around = made.Skip(59_500).Take(1000).Zip(made.Skip(59_501).Take(1000)).Count(p => p.First < 0 != p.Second < 0);
        Assert.That(around / 2.0, Is.EqualTo(20).Within(0.6));
        double[] told = [.. built.ToldG.Skip(400).SkipLast(400)];
        Assert.That(told.Max(), Is.EqualTo(0.5).Within(0.01), "constant acceleration");
    }

    /// <summary>Flat 0.01 g²/Hz from 10 Hz to 60 Hz: √(0.01 · 50) = 0.707 g rms; over 120 s the rms of a Gaussian band of 50 Hz is known to about 1 % (elementary).</summary>
    [Test]
    public void RandomVibrationKeepsItsRms()
    {
        var built = Built("synth: {random: {from: 10 Hz, to: 60 Hz, rms: 0.7071 g}, axis: z, for: 120 s}");
        var loss = MotionLoss.Of(built.WantedG, built.ToldG, s_rate, built.FromHz, built.ToHz);
        Assert.That(loss.MadeG, Is.EqualTo(0.7071).Within(0.03));
        Assert.That(loss.ErrorG, Is.LessThan(0.03));
    }

    private static BuiltMotion Built(string step)
    {
        InputChannel[] channels = [new("ax", 0.001, 16), new("ay", 0.001, 16), new("az", 0.001, 16)];
        var stimulus = StimulusBuilder.Build(ScenarioFile.Parse($"scenario: s\nstimulus: [{{{step.Replace("s}", "s, class: moved}", StringComparison.Ordinal)}}}]\n", "s.yaml"), "", new(s_rate, channels), 3);
        double[] along = [.. stimulus.Counts[2].Skip(stimulus.LeadSamples).Select(n => n * 0.001)];
        var built = MotionBuilder.Build(along, s_rate, s_envelope, s_positions, MotionFit.None);
        Assert.That(built.Outside, Is.Null);
        return built;
    }
}
