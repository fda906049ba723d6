using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals;

/// <summary>
/// A device at rest, +1 g on z and 0 °/s, or with a tone on top: peak · sin(2π f t) on one axis, t from the step's first
/// sample. A step lasts a whole number of samples, rounded up. An empty class leaves the step without a label.
/// </summary>
internal sealed class SynthStepPlan : StepPlan
{
    private readonly SynthStep _step;

    private SynthStepPlan(SynthStep step, SampleRate rate)
    {
        _step = step;
        SampleCount = rate.SamplesBefore(new(step.For.Ticks * 100));
    }

    public override long SampleCount { get; }

    /// <returns>Null after a fault.</returns>
    public static SynthStepPlan? Of(SynthStep step, InputSpec input, StepFaults faults)
    {
        // The bound keeps nanoseconds within 64 bits; what fits in memory is checked over all steps together.
        if (step.For <= TimeSpan.Zero || step.For > TimeSpan.FromDays(365))
        {
            faults.Add($"synth for {step.For}", "a time above 0 and at most a year");
        }
        if (step.Axis is not ('x' or 'y' or 'z')) { faults.Add($"synth axis {step.Axis}", "x, y or z"); }
        if (!double.IsFinite(step.PeakG)) { faults.Add("a synth peak that is no number", "an amplitude such as 0.3 g"); }
        if (step.ToneHz is { } tone && !(tone > 0 && tone < input.Rate.Hertz / 2))
        {
            faults.Add(FormattableString.Invariant($"a tone of {tone} Hz"), $"above 0 and below half the device's input rate of {input.Rate}");
        }
        return faults.Any ? null : new(step, input.Rate);
    }

    public override StepMotion Build(StepContext context, long first)
    {
        var rate = context.Input.Rate;
        var channels = new double[context.Input.Channels.Count][];
        for (int c = 0; c < channels.Length; c++)
        {
            string name = context.Input.Channels[c].Name;
            channels[c] = new double[SampleCount];
            Array.Fill(channels[c], name == "az" ? 1.0 : 0.0);
            if (_step.ToneHz is { } tone && name == $"a{_step.Axis}") { AddTone(channels[c], tone, rate); }
        }
        if (_step.Class.Length == 0) { return new(channels, []); }
        return new(channels, [new(rate.TimeOf(first), rate.TimeOf(first + SampleCount), context.ClassOf(_step.Class))]);
    }

    private void AddTone(double[] channel, double toneHz, SampleRate rate)
    {
        for (int n = 0; n < channel.Length; n++)
        {
            channel[n] += _step.PeakG * PortableMath.SinCosTurns(n * (toneHz * 1000) / rate.MilliHertz).Sin;
        }
    }
}
