using HilRunner.Core.Numerics;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;

namespace HilRunner.Core.Signals;

/// <summary>
/// A made signal on top of rest: +1 g upwards (none in free fall), 0 °/s. A step lasts a whole number of samples, rounded up; its
/// signal starts at its first sample. An empty class leaves the step without a label.
/// </summary>
internal sealed class SynthStepPlan : StepPlan
{
    /// <summary>Keeps nanoseconds within 64 bits; what fits in memory is checked over all steps together.</summary>
    public static readonly TimeSpan Longest = TimeSpan.FromDays(365);

    private readonly SynthStep _step;
    private readonly int _index;

    private SynthStepPlan(SynthStep step, int index, InputSpec input)
    {
        (_step, _index) = (step, index);
        SampleCount = input.Rate.SamplesBefore(new(step.For.Ticks * 100));
    }

    public override long SampleCount { get; }

    /// <param name="index">Place of the step in the scenario, from 0: part of the seed of what is random.</param>
    /// <returns>Null after a fault.</returns>
    public static SynthStepPlan? Of(SynthStep step, int index, InputSpec input, StepFaults faults)
    {
        if (step.For <= TimeSpan.Zero || step.For > Longest) { faults.Add($"synth for {step.For}", "a time above 0 and at most a year"); }
        if (step.Signal.Along is { Exists: false } along) { faults.Add($"synth axis {along}", "x, y or z"); }
        if (!step.Up.Exists) { faults.Add($"synth up {step.Up}", "x, y or z, or -x, -y or -z"); }
        step.Signal.Check(input.Rate, step.For, faults);
        return faults.Any ? null : new(step, index, input);
    }

    public override StepMotion Build(StepContext context, long first)
    {
        var rate = context.Input.Rate;
        var seed = new SeedTree(context.Seed).Branch((ulong)_index);
        var channels = new double[context.Input.Channels.Count][];
        for (int c = 0; c < channels.Length; c++)
        {
            string name = context.Input.Channels[c].Name;
            double[] values = channels[c] = new double[SampleCount];
            double rest = name == _step.Up.Channel ? _step.Up.Sign * _step.Signal.GravityShare : 0, sign = 0;
            if (_step.Signal.Along is { } along && along.Channel == name)
            {
                sign = along.Sign;
                _step.Signal.Fill(values, rate, _step.For, seed);
            }
            for (int n = 0; n < values.Length; n++) { values[n] = rest + sign * values[n]; }
        }
        if (_step.Class.Length == 0) { return new(channels, []); }
        return new(channels, [new(rate.TimeOf(first), rate.TimeOf(first + SampleCount), context.ClassOf(_step.Class))]);
    }
}
