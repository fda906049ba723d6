using System.Globalization;
using HilRunner.Core.Documents;
using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Scenarios.Varying;

namespace HilRunner.Core.Runs;

/// <summary>run.yaml, read.</summary>
internal static class RunManifestShape
{
    private static Shape<string> Text => new TextShape("a text", [], shortest: 0);
    private static Shape<long> Whole => new IntegerShape(0, long.MaxValue).Select(v => (long)v);
    private static Shape<int> Small => Shapes.Integer(0, int.MaxValue);

    private static Shape<DateTimeOffset> Moment => Shapes.Text("a time such as 2026-11-25T08:53:37.0000000+00:00").Select((text, node, reading) =>
    {
        if (!DateTimeOffset.TryParseExact(text, "o", CultureInfo.InvariantCulture, DateTimeStyles.None, out var moment))
        {
            reading.Refuse(node, node.Shown, "a time such as 2026-11-25T08:53:37.0000000+00:00");
        }
        return moment;
    });

    private static Shape<string> Speed => Shapes.Text("real, max or a factor such as 4x").Select((text, node, reading) =>
    {
        try { _ = Speeds.Factor(text); }
        catch (FormatException) { reading.Refuse(node, node.Shown, "real, max or a factor from 0.1x to 1000x, for instance 4x"); }
        return text;
    });

    public static Shape<RunManifest> Shape { get; } = MapShape.Of<RunManifest>(null, "a run", keys =>
    {
        var id = keys.Required("run", Text, "");
        var started = keys.Required("started", Moment, "");
        var ended = keys.Optional("ended", Moment, "");
        var complete = keys.Required("complete", Shapes.Flag, "");
        var cause = keys.Optional("end_cause", Text, "");
        var expected = keys.Optional("expected_sha256", Text, "");
        var tool = keys.Required("tool_version", Text, "");
        var host = keys.Required("host", Text, "");
        var scenarioName = keys.Required("scenario_name", Text, "");
        var rigName = keys.Required("rig_name", Text, "");
        var link = keys.Required("link", Text, "");
        var suite = keys.Optional("suite", Text, "");
        var repeat = keys.Required("repeat", Small, "");
        var seed = keys.Required("seed", Shapes.Unsigned, "");
        var hold = keys.Optional("hold", Shapes.DurationNs("0 s", "1 h"), "");
        var variation = keys.Optional("variation", Variation(), "");
        var speed = keys.Required("speed", Speed, "");
        var byHand = keys.Default("by_hand", Shapes.Flag, "false", "");
        var onTable = keys.Default("on_table", Shapes.Flag, "false", "");
        var build = keys.Default("build", Build(), "{}", "");
        var identity = keys.Default("identity", new ListShape<KeyValuePair<string, string>>("a list", Pair()), "[]", "");
        var rate = keys.Required("rate", Shapes.Rate, "");
        var samples = keys.Required("samples", Small, "");
        var lead = keys.Required("lead_samples", Small, "");
        var channels = keys.Required("channels", new ListShape<string>("a list", Text), "");
        var clipped = keys.Default("clipped", new ListShape<long>("a list", Whole), "[]", "");
        var sources = keys.Default("sources", new ListShape<StimulusSource>("a list", Source()), "[]", "");
        var scenario = keys.Required("scenario", Document(), "");
        var rig = keys.Required("rig", Document(), "");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(identity, out var said)) { return; }
            foreach (var twice in said.GroupBy(s => s.Key, StringComparer.Ordinal).Where(g => g.Count() > 1))
            {
                reading.Refuse(entries.NodeOf(identity), $"{FoundText.Show(twice.Key)} twice", "each name once");
            }
        });
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(lead, out int before) && entries.TryGet(samples, out int all) && before > all)
            {
                reading.Refuse(entries.NodeOf(lead), entries.NodeOf(lead).Shown, $"at most samples, which is {all}");
            }
        });
        return (entries, _) => new RunManifest
        {
            Id = entries.Get(id),
            Started = entries.Get(started),
            Ended = entries.MaybeValue(ended),
            Complete = entries.Get(complete),
            EndCause = entries.Maybe(cause),
            ExpectedSha256 = entries.Maybe(expected),
            ToolVersion = entries.Get(tool),
            Host = entries.Get(host),
            ScenarioName = entries.Get(scenarioName),
            RigName = entries.Get(rigName),
            Link = entries.Get(link),
            Suite = entries.Maybe(suite),
            Repeat = entries.Get(repeat),
            Seed = entries.Get(seed),
            HoldNs = entries.MaybeValue(hold),
            Variation = entries.Maybe(variation),
            Speed = entries.Get(speed),
            ByHand = entries.Get(byHand),
            OnTable = entries.Get(onTable),
            Build = entries.Get(build),
            Identity = new Dictionary<string, string>(entries.Get(identity), StringComparer.Ordinal),
            Rate = entries.Get(rate),
            Samples = entries.Get(samples),
            LeadSamples = entries.Get(lead),
            Channels = entries.Get(channels),
            Clipped = entries.Get(clipped),
            Sources = entries.Get(sources),
            Scenario = entries.Get(scenario),
            Rig = entries.Get(rig),
        };
    });

    private static MapShape<SourceDocument> Document() => MapShape.Of<SourceDocument>(null, "a map with path, sha256, text", keys =>
    {
        var path = keys.Required("path", Text, "");
        var hash = keys.Required("sha256", Text, "");
        var ends = keys.Default("line_ends", new WordShape<string>(("lf", "\n"), ("crlf", "\r\n")), "lf", "");
        var text = keys.Required("text", new TextShape("a text", [], shortest: 0, longest: int.MaxValue), "");
        return (entries, _) => new SourceDocument(entries.Get(path), entries.Get(hash), entries.Get(text).Replace("\n", entries.Get(ends), StringComparison.Ordinal));
    });

    private static MapShape<Variation> Variation() => MapShape.Of<Variation>(null, "a map with of, sampled, values", keys =>
    {
        var of = keys.Required("of", Text, "");
        var sampled = keys.Required("sampled", Shapes.Flag, "");
        var values = keys.Required("values", new ListShape<VariedValue>("a list", Varied(), 1, VariedParameter.All.Count), "");
        return (entries, _) => new(entries.Get(of), entries.Get(sampled), entries.Get(values));
    });

    private static MapShape<VariedValue> Varied() => MapShape.Of<VariedValue>(null, "a map with parameter and value", keys =>
    {
        var parameter = keys.Required("parameter", new WordShape<VariedParameter>([.. VariedParameter.All.Select(p => (p.Key, p))]), "");
        var value = keys.Required("value", Text, "");
        return (entries, reading) =>
        {
            if (entries.Get(parameter).Read(entries.Get(value)) is { } read) { return new(entries.Get(parameter), read); }
            reading.Refuse(entries.NodeOf(value), entries.NodeOf(value).Shown, $"a value of {entries.Get(parameter).Key}");
            return new(entries.Get(parameter), 0);
        };
    });

    private static MapShape<BuildIdentity> Build() => MapShape.Of<BuildIdentity>(null, "a map", keys =>
    {
        var label = keys.Optional("label", Text, "");
        var image = keys.Optional("image", Text, "");
        var hash = keys.Optional("sha256", Text, "");
        return (entries, _) => new BuildIdentity(entries.Maybe(label), entries.Maybe(image), entries.Maybe(hash));
    });

    private static MapShape<KeyValuePair<string, string>> Pair() => MapShape.Of<KeyValuePair<string, string>>(null, "a map with name and value", keys =>
    {
        var name = keys.Required("name", Text, "");
        var value = keys.Required("value", Text, "");
        return (entries, _) => new(entries.Get(name), entries.Get(value));
    });

    private static MapShape<StimulusSource> Source() => MapShape.Of<StimulusSource>(null, "a map with path, sha256", keys =>
    {
        var path = keys.Required("path", Text, "");
        var hash = keys.Required("sha256", Text, "");
        var rate = keys.Optional("rate", Shapes.Rate, "");
        var range = keys.Optional("range_g", Shapes.Number(-double.MaxValue, double.MaxValue), "");
        var source = keys.Optional("source", Text, "");
        var mounting = keys.Optional("mounting", Text, "");
        var provenance = keys.Optional("provenance", Text, "");
        var licence = keys.Optional("licence", Text, "");
        var invented = keys.Default("invented", Shapes.Flag, "false", "");
        return (entries, _) => new StimulusSource(entries.Get(path), entries.Get(hash), new RecordingInfo
        {
            Rate = entries.MaybeValue(rate),
            RangeG = entries.MaybeValue(range),
            Source = entries.Maybe(source),
            Mounting = entries.Maybe(mounting),
            Provenance = entries.Maybe(provenance),
            Licence = entries.Maybe(licence),
            Invented = entries.Get(invented),
        });
    });
}
