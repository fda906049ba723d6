using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Transforms;

namespace HilRunner.Core.Signals;

/// <summary>
/// From a scenario to what is sent: the steps one after the other, in device counts at the device's rate, with the reference
/// timeline. Pure apart from reading the recordings; the same scenario, recordings, input and seed give the same bytes on every
/// machine. The README beside this file says how each step is made.
/// </summary>
public static class StimulusBuilder
{
    /// <summary>
    /// Most values of one stimulus, all channels and the lead counted: 37 hours of three axes at 100 Hz. Some 60 bytes each,
    /// until the run is scored.
    /// </summary>
    public const int MostValues = 40_000_000;

    /// <summary>Most samples of one stimulus, of a single channel.</summary>
    public const int MostSamples = MostValues;

    /// <param name="baseFolder">Folder of the scenario file: the paths in it are relative to it.</param>
    /// <param name="input">Rate and channels of the device.</param>
    /// <param name="seed">The run's seed; it decides noise, dropouts and random signals, and nothing else.</param>
    /// <exception cref="BadInputException">Every fault of every step and of the recordings.</exception>
    public static Stimulus Build(Scenario scenario, string baseFolder, InputSpec input, ulong seed)
    {
        CheckInput(scenario, input);
        var shelf = new RecordingShelf(baseFolder);
        var plans = Plan(scenario, input, new TransformContext(shelf, new()));
        long lead = LeadSamples(scenario, input);
        long total = lead + plans.Sum(p => p.SampleCount);
        CheckLength(scenario, total, input);
        var context = new StepContext(input, scenario.Classes, seed);
        var counts = new DeviceCounts(input, (int)lead, (int)total);
        var reference = new List<ReferenceInterval>();
        int next = 0;
        foreach (var plan in plans)
        {
            // Step by step, so that only one step's motion is held beside the counts.
            var step = plan.Build(context, next);
            counts.Add(step.Channels);
            AddTrials(reference, step);
            next += step.SampleCount;
        }
        return new()
        {
            Rate = input.Rate,
            ChannelNames = [.. input.Channels.Select(c => c.Name)],
            Counts = counts.Done(),
            UnitsPerCount = [.. input.Channels.Select(c => c.UnitsPerCount)],
            LeadSamples = (int)lead,
            Reference = reference,
            Clipped = counts.Clipped,
            Sources = shelf.Sources,
        };
    }

    /// <summary>Whether all of them can be built, without building them. Recordings are read once.</summary>
    /// <param name="baseFolder">As in <see cref="Build"/>, of all of them.</param>
    /// <exception cref="BadInputException">Every fault of every step of every scenario.</exception>
    public static void Check(IEnumerable<Scenario> scenarios, string baseFolder, InputSpec input)
    {
        ArgumentNullException.ThrowIfNull(scenarios);
        var transforms = new TransformContext(new(baseFolder), new());
        var faults = new List<Fault>();
        foreach (var scenario in scenarios)
        {
            try
            {
                CheckInput(scenario, input);
                CheckLength(
                    scenario, LeadSamples(scenario, input) + Plan(scenario, input, transforms).Sum(p => p.SampleCount), input);
            }
            catch (BadInputException fault) { faults.AddRange(fault.Faults); }
        }
        if (faults.Count > 0) { throw new BadInputException([.. faults.Distinct()]); }
    }

    private static long LeadSamples(Scenario scenario, InputSpec input) => input.Rate.SamplesBefore(new(scenario.Lead.Ticks * 100));

    private static void CheckLength(Scenario scenario, long samples, InputSpec input)
    {
        long most = MostValues / Math.Max(1, input.Channels.Count);
        if (samples <= most) { return; }
        string hours = FormattableString.Invariant($"{samples / input.Rate.Hertz / 3600:0.#} h"),
            mostHours = FormattableString.Invariant($"{most / input.Rate.Hertz / 3600:0.#} h");
        throw Bad(scenario, $"a stimulus of {samples} samples ({hours})",
            $"at most {most} of {input.Channels.Count} channels ({mostHours} at {input.Rate})",
            "split the scenario, or play a shorter one with repeats");
    }

    private static List<StepPlan> Plan(Scenario scenario, InputSpec input, TransformContext transforms)
    {
        var plans = new List<StepPlan>();
        var faults = new List<Fault>();
        for (int i = 0; i < scenario.Steps.Count; i++)
        {
            var stepFaults = new StepFaults($"scenario '{scenario.Name}', stimulus step {i + 1}");
            if (Plan(scenario.Steps[i], i, input, transforms, stepFaults) is { } plan) { plans.Add(plan); }
            // A file that several steps play reports its faults once.
            faults.AddRange(stepFaults.Faults.Where(f => !faults.Contains(f)));
        }
        return faults.Count == 0 ? plans : throw new BadInputException(faults);
    }

    private static StepPlan? Plan(StimulusStep step, int index, InputSpec input, TransformContext transforms, StepFaults faults)
    {
        try
        {
            switch (step)
            {
                case PlayStep play: return PlayStepPlan.Of(play, index, transforms.Recordings.Get(play.Path, play.Format), input, transforms, faults);
                case SynthStep synth: return SynthStepPlan.Of(synth, index, input, faults);
                case PromptStep prompt:
                    faults.Add($"the prompt \"{prompt.Say}\"", "play or synth: a prompt cannot be injected",
                        "use a rig that is moved by hand, or take the step out");
                    return null;
                default: throw new ArgumentOutOfRangeException(nameof(step), step.GetType().Name, "no such kind of step");
            }
        }
        catch (BadInputException e)
        {
            faults.Add(e);
            return null;
        }
    }

    /// <summary>
    /// One trial for every stretch of one class within a step: abutting labels that the scenario maps to the same class are
    /// one trial, abutting stretches of two steps are two.
    /// </summary>
    private static void AddTrials(List<ReferenceInterval> reference, StepMotion step)
    {
        int before = reference.Count;
        foreach (var label in step.Labels)
        {
            RecordedSegment? segment = step.Recording is { } number && label.Origin is { } origin ? new(number, origin.Start, origin.End) : null;
            if (reference.Count > before && reference[^1] is var last && last.End == label.Start && last.Class == label.Class)
            {
                reference[^1] = last with { End = label.End, Segment = last.Segment is { } whole && segment is { } more ? whole with { To = more.To } : null };
                continue;
            }
            reference.Add(new(label.Start, label.End, label.Class, reference.Count + 1) { Segment = segment });
        }
    }

    private static void CheckInput(Scenario scenario, InputSpec input)
    {
        if (scenario.Steps.Count == 0) { throw Bad(scenario, "a stimulus without steps", "at least one step of play or synth"); }
        if (scenario.Lead < TimeSpan.Zero || scenario.Lead > TimeSpan.FromDays(1))
        {
            throw Bad(scenario, $"a lead of {scenario.Lead}", "a time from 0 to 1 day");
        }
        if (input.Channels.Count == 0) { throw Bad(scenario, "a rig without input channels", "channels under input:"); }
        foreach (var channel in input.Channels)
        {
            if (!ColumnUse.ChannelNames.Contains(channel.Name))
            {
                throw Bad(scenario, $"input channel {FoundText.Show(channel.Name)}",
                    "one of " + string.Join(", ", ColumnUse.ChannelNames), "correct the rig's input:");
            }
        }
    }

    private static BadInputException Bad(Scenario scenario, string found, string expected, string remedy = "") =>
        new([new Fault($"scenario '{scenario.Name}'", 0, 0, found, expected, remedy)]);
}
