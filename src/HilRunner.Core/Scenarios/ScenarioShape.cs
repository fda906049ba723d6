using HilRunner.Core.Documents;
using HilRunner.Core.Scenarios.Varying;

namespace HilRunner.Core.Scenarios;

/// <summary>The whole scenario file.</summary>
internal static class ScenarioShape
{
    public static Shape<Scenario> Shape { get; } = MapShape.Of<Scenario>("Scenario", "a scenario", keys =>
    {
        var name = keys.Required("scenario", Shapes.Text("the scenario's name", "carried then dropped"), "Name of the scenario.");
        var steps = keys.Required("stimulus", new ListShape<StimulusStep>("a list of steps", StepShapes.Step, 1), "What the device is made to feel, step after step.");
        var classes = keys.Default("classes", new NamedShape<string>("a map from label to class", "LABEL", "^\\S.{0,199}$",
            ClassNames.Name)
            .Select(named => (IReadOnlyDictionary<string, string>)named.Own.ToDictionary(o => o.Key.Text, o => o.Value, StringComparer.Ordinal)), "{}",
            "Label → device class; labels that are not listed keep their name.");
        var events = keys.Default("events", Classes("momentary"), "[]", "Momentary classes: judged as points, not as states.");
        var unscored = keys.Default("unscored", Classes("unscored"), "[]", "Device classes whose reference time is never right or wrong.");
        var lead = keys.Default("lead", Shapes.Duration("0 s", "1 h"), "0 s", "Unscored run-in, so that nothing is left in the device's windows.");
        var grace = keys.Default("grace", Shapes.DurationNs("0 s", "1 h"), "0 s", "Left out at the start of every interval in the graced figures.");
        var within = keys.Optional("within", Shapes.DurationNs("1 ns", "1000 h"), "Recognised only when the reaction is within this. Needed where there are events.");
        var early = keys.Default("early", Shapes.DurationNs("0 s", "1 min"), "0 s",
            "How much before its start an event may be reported: a label's start is seldom exact. Such a report is a hit with a reaction of 0.");
        var hold = keys.Default("hold", Hold, "0 s", HoldMeaning);
        var vary = keys.Optional("vary", VaryShape.Shape, "Plays the scenario at several values of rotation, scale, offset, stretch and noise, to find where the device stops to recognise.");
        var limits = keys.Default("limits", LimitShape.List, "[]", "What the device must keep to. None: no verdict.");
        keys.Check((entries, reading) =>
        {
            if (entries.Has(vary) && entries.TryGet(steps, out var all) && !all.OfType<PlayStep>().Any())
            {
                reading.Refuse(entries.NodeOf(vary), "beside a stimulus without play", "at least one step that plays a recording: nothing else is varied");
            }
        });
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(events, out var momentary)) { return; }
            if (momentary.Count > 0 && !entries.Has(within)) { reading.Faults.Add(entries.NodeOf(events), "events without within", "within: how long an event may be reported after its start, such as 4 s"); }
            if (entries.TryGet(unscored, out var ignored)) { RefuseShared(momentary, ignored, entries.NodeOf(unscored), reading); }
            else { ignored = []; }
            if (!entries.TryGet(limits, out var all)) { return; }
            var known = entries.TryGet(steps, out var played) ? KnownClasses(played) : null;
            for (int i = 0; i < all.Count; i++) { CheckClass(all[i], momentary, ignored, known, entries.NodeOf(limits).At(i, "class"), reading); }
        });
        return (entries, _) => new Scenario
        {
            Name = entries.Get(name),
            Steps = entries.Get(steps),
            Classes = entries.Get(classes),
            Lead = entries.Get(lead),
            Variations = [.. entries.Maybe(vary) is { } asked ? asked.Combinations.Select(values => new Variation(entries.Get(name), asked.Sampled, values)) : []],
            Rules = new()
            {
                Events = entries.Get(events),
                Unscored = entries.Get(unscored),
                GraceNs = entries.Get(grace),
                WithinNs = entries.MaybeValue(within),
                EarlyNs = entries.Get(early),
                HoldNs = entries.Get(hold),
                Limits = entries.Get(limits),
            },
        };
    });

    /// <summary>What the key <c>hold</c> takes, in scenarios, suites and acceptance plans.</summary>
    public static Shape<long> Hold => Shapes.DurationNs("0 s", "1 h");

    private const string HoldMeaning =
        "A state is recognised only from where it holds this long without a break, inside its interval: a flicker recognises nothing.";

    private static Shape<IReadOnlyList<string>> Classes(string what) =>
        new ListShape<string>($"a list of {what} classes", ClassNames.Name, 0, 1_000).Select((names, node, reading) =>
        {
            foreach (string name in names.GroupBy(n => n).Where(g => g.Count() > 1).Select(g => g.Key)) { reading.Refuse(node, $"{name} twice", "each class once"); }
            return names;
        });

    private static void RefuseShared(IReadOnlyList<string> events, IReadOnlyList<string> unscored, Node at, Reading reading)
    {
        foreach (string name in unscored.Intersect(events)) { reading.Refuse(at, $"{name}, which is under events too", "a class in one of the two"); }
    }

    /// <summary>The classes that the stimulus can hold; null when recordings bring labels that only they know.</summary>
    private static HashSet<string>? KnownClasses(IReadOnlyList<StimulusStep> steps)
    {
        var known = new HashSet<string>(StringComparer.Ordinal);
        foreach (var step in steps)
        {
            switch (step)
            {
                case SynthStep synth: known.Add(synth.Class); break;
                case PromptStep prompt: known.Add(prompt.Class); break;
                default: return null;
            }
        }
        return known;
    }

    private static void CheckClass(Limit limit, IReadOnlyList<string> events, IReadOnlyList<string> unscored, HashSet<string>? known, Node at, Reading reading)
    {
        MeasureInfo info = Measures.Of(limit.Measure);
        if (info.Class == ClassUse.Event && events.Count == 0) { reading.Faults.Add(at, $"{info.Word} without events", "a scenario that lists its events", "add events: and within:"); }
        if (limit.Class is not { } name) { return; }
        if (unscored.Contains(name)) { reading.Refuse(at, $"{name}, which is never scored", "a class that is not under unscored"); }
        if (info.Class == ClassUse.State && events.Contains(name)) { reading.Refuse(at, $"the event {name}", $"a state: {info.Word} is not defined for events"); }
        if (info.Class == ClassUse.Event && events.Count > 0 && !events.Contains(name)) { reading.Refuse(at, name, $"one of the events: {string.Join(", ", events)}"); }
        if (known is not null && !known.Contains(name) && !events.Contains(name))
        {
            string? near = EditDistance.Nearest(name, known);
            reading.Refuse(at, $"\"{name}\", which no step has", $"one of {string.Join(", ", known)}", near is null ? "" : $"did you mean {near}?");
        }
    }
}
