using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Core.Signals;

/// <summary>
/// Part of a recording: cut → rotate → scale → resample → noise. The noise comes last because it stands for the noise
/// of the device's own sensor, which is white at the device's rate; before the resampler its filter would colour it.
/// </summary>
internal sealed class PlayStepPlan : StepPlan
{
    private static readonly string[][] s_vectors = [["ax", "ay", "az"], ["gx", "gy", "gz"]];

    private readonly PlayStep _step;
    private readonly int _index;
    private readonly Recording _recording;
    private readonly PolyphaseResampler? _resampler;
    private readonly int _from;
    private readonly int _to;

    private PlayStepPlan(PlayStep step, int index, Recording recording, PolyphaseResampler? resampler)
    {
        (_step, _index, _recording, _resampler) = (step, index, recording, resampler);
        (_from, _to) = Cut(step, recording);
        SampleCount = resampler?.OutputLength(_to - _from) ?? _to - _from;
    }

    public override long SampleCount { get; }

    /// <param name="index">Place of the step in the scenario, from 0: part of the noise's seed.</param>
    /// <returns>Null after a fault.</returns>
    public static PlayStepPlan? Of(PlayStep step, int index, Recording recording, InputSpec input, ResamplerShelf resamplers, StepFaults faults)
    {
        CheckCut(step, recording, faults);
        CheckChannels(step, recording, input, faults);
        if (!double.IsFinite(step.Scale)) { faults.Add("a scale that is no number", "a factor such as 0.8"); }
        if (!(double.IsFinite(step.NoiseG) && step.NoiseG >= 0)) { faults.Add("a noise that is no amount", "a standard deviation such as 5 mg"); }
        if (faults.Any) { return null; }
        if (recording.Rate == input.Rate) { return new(step, index, recording, null); }
        if (resamplers.Get(recording.Rate, input.Rate) is { } resampler) { return new(step, index, recording, resampler); }
        var (up, down) = PolyphaseResampler.Ratio(recording.Rate, input.Rate);
        faults.Add($"{step.Path} at {recording.Rate} for a device at {input.Rate}: a ratio of {up}:{down}",
            $"at most {PolyphaseResampler.LargestQuotient}:1 either way and no number above {PolyphaseResampler.LargestFactor}",
            "state the recording's rate more roundly, or resample it beforehand");
        return null;
    }

    public override StepMotion Build(StepContext context, long first)
    {
        var motion = Prepared(context.Input);
        var channels = new double[context.Input.Channels.Count][];
        for (int c = 0; c < channels.Length; c++)
        {
            string name = context.Input.Channels[c].Name;
            channels[c] = _resampler?.Apply(motion[name]) ?? motion[name];
            if (ColumnUse.IsAcceleration(name)) { AddNoise(channels[c], name, context.Seed); }
        }
        return new(channels, Labels(context, first));
    }

    /// <summary>Cut, rotated and scaled: the channels that the rig wants, and those that a rotation brings in.</summary>
    private Dictionary<string, double[]> Prepared(InputSpec input)
    {
        var motion = new Dictionary<string, double[]>();
        foreach (string name in Needed(_step, input)) { motion[name] = Source(name)[_from.._to]; }
        if (_step.Rotate.Count > 0)
        {
            var rotation = new MotionRotation(_step.Rotate);
            foreach (string[] v in s_vectors)
            {
                if (motion.ContainsKey(v[0])) { rotation.Apply(motion[v[0]], motion[v[1]], motion[v[2]]); }
            }
        }
        if (_step.Scale != 1)
        {
            foreach (double[] values in motion.Values)
            {
                for (int i = 0; i < values.Length; i++) { values[i] *= _step.Scale; }
            }
        }
        return motion;
    }

    private double[] Source(string channel) => _recording.Channels[_recording.ChannelNames.ToList().IndexOf(channel)];

    private void AddNoise(double[] values, string channel, ulong seed)
    {
        if (_step.NoiseG == 0) { return; }
        var noise = new GaussianNoise(SeedOf(seed, _index, channel));
        for (int i = 0; i < values.Length; i++) { values[i] += _step.NoiseG * noise.Next(); }
    }

    /// <summary>A stream of its own for every axis of every step, so that none depends on which channels a rig has.</summary>
    private static ulong SeedOf(ulong seed, int index, string channel)
    {
        ulong state = seed;
        state = Xoshiro256.Mix(ref state) ^ (ulong)index;
        state = Xoshiro256.Mix(ref state) ^ channel[1];
        return Xoshiro256.Mix(ref state);
    }

    /// <summary>
    /// The recording's labels, moved by a whole number of nanoseconds and cut to the step. One that lasts until the cut lasts
    /// until the step's end, which after resampling lies up to one sample later.
    /// </summary>
    private List<LabelInterval> Labels(StepContext context, long first)
    {
        StimulusTime cutStart = _recording.Rate.TimeOf(_from), cutEnd = _recording.Rate.TimeOf(_to);
        StimulusTime start = context.Input.Rate.TimeOf(first), end = context.Input.Rate.TimeOf(first + SampleCount);
        long shift = start - cutStart;
        var labels = new List<LabelInterval>();
        foreach (var label in _recording.Labels)
        {
            var from = label.Start <= cutStart ? start : label.Start + shift;
            var to = label.End >= cutEnd || label.End + shift > end ? end : label.End + shift;
            if (label.Start < cutEnd && from < to) { labels.Add(new(from, to, context.ClassOf(label.Class))); }
        }
        return labels;
    }

    /// <summary>The samples that lie in [from, to).</summary>
    private static (int From, int To) Cut(PlayStep step, Recording recording)
    {
        long from = FirstFrom(step.From ?? StimulusTime.Zero, recording.Rate), to = FirstFrom(step.To ?? recording.Duration, recording.Rate);
        return ((int)Math.Min(recording.SampleCount, from), (int)Math.Min(recording.SampleCount, to));
    }

    /// <summary>The first sample at or after a time. A sample's time is a whole nanosecond, perhaps rounded up: a cut at just that time takes it in.</summary>
    private static long FirstFrom(StimulusTime time, SampleRate rate)
    {
        long first = rate.SamplesBefore(time);
        return first > 0 && rate.TimeOf(first - 1) >= time ? first - 1 : first;
    }

    private static void CheckCut(PlayStep step, Recording recording, StepFaults faults)
    {
        string lasts = $"{step.Path} lasts {recording.Duration}";
        StimulusTime from = step.From ?? StimulusTime.Zero, to = step.To ?? recording.Duration;
        var (first, end) = Cut(step, recording);
        if (from.Ns < 0 || from >= recording.Duration) { faults.Add($"from {from}", $"a time from 0 on in the recording: {lasts}"); }
        else if (to > recording.Duration) { faults.Add($"to {to}", $"a time in the recording: {lasts}"); }
        else if (first >= end) { faults.Add($"from {from} to {to}", "a stretch with at least one sample"); }
    }

    private static void CheckChannels(PlayStep step, Recording recording, InputSpec input, StepFaults faults)
    {
        string[] missing = [.. Needed(step, input).Where(n => !recording.ChannelNames.Contains(n))];
        if (missing.Length == 0) { return; }
        bool turned = missing.Any(m => input.Channels.All(c => c.Name != m));
        faults.Add($"{step.Path} without {string.Join(", ", missing)} (it has {string.Join(", ", recording.ChannelNames)})",
            turned ? "every channel of the rig's input, and all three axes where they are rotated" : "every channel of the rig's input",
            turned ? "leave the rotation out or take a recording with three axes" : "take a recording that has it, or a rig without that channel");
    }

    private static IEnumerable<string> Needed(PlayStep step, InputSpec input)
    {
        var wanted = input.Channels.Select(c => c.Name);
        return step.Rotate.Count == 0 ? wanted : s_vectors.Where(v => v.Any(wanted.Contains)).SelectMany(v => v);
    }
}
