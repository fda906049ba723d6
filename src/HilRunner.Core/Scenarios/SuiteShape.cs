using HilRunner.Core.Documents;

namespace HilRunner.Core.Scenarios;

/// <summary>The whole suite file.</summary>
internal static class SuiteShape
{
    /// <summary>Files and patterns of files that are scenarios.</summary>
    public static Shape<IReadOnlyList<IReadOnlyList<string>>> Files { get; } = new ListShape<IReadOnlyList<string>>("a list of files", Shapes.Text("a file or a pattern", "*.yaml").Select(Expand), 1);

    public static Shape<Suite> Shape { get; } = MapShape.Of<Suite>("Suite", "a suite", keys =>
    {
        var name = keys.Required("suite", Shapes.Text("the suite's name", "nightly"), "Name of the suite.");
        var scenarios = keys.Required("scenarios", Files,
            "Scenario files, relative to this file. Patterns: * and ? within a name, ** for any folders; files they match that are no scenarios are passed over.");
        var repeats = keys.Default("repeats", Shapes.Integer(1, 10_000), "1", "How often each scenario is played. Repeats measure repeatability; they are no independent trials.");
        var order = keys.Default("order", new WordShape<SuiteOrder>(("as_listed", SuiteOrder.AsListed), ("shuffled", SuiteOrder.Shuffled)), "as_listed", "as_listed, or shuffled by the seed.");
        var seed = keys.Default("seed", Shapes.Unsigned, "1", "Seed of the order and of all noise.");
        var hold = keys.Optional("hold", ScenarioShape.Hold,
            "In place of the scenarios' own hold: how long a state must hold without a break to be recognised.");
        var limits = keys.Default("limits", LimitShape.Pooled, "[]", "Limits with confidence, judged once over the independent trials of all its runs.");
        var compare = keys.Default("compare", Compare(), "{}", "Shifts between builds that are nobody's business.");
        return (entries, _) => new Suite
        {
            Name = entries.Get(name),
            Scenarios = [.. entries.Get(scenarios).SelectMany(s => s).Distinct(StringComparer.Ordinal)],
            Repeats = entries.Get(repeats),
            Order = entries.Get(order),
            Seed = entries.Get(seed),
            HoldNs = entries.MaybeValue(hold),
            Limits = entries.Get(limits),
            Compare = entries.Get(compare),
        };
    });

    private static MapShape<CompareTolerances> Compare() => MapShape.Of<CompareTolerances>("Comparison of builds", "a map such as {reaction: 50 ms}", keys =>
    {
        var reaction = keys.Default("reaction", Shapes.DurationNs("0 s", "1 h"), "0 s", "A reaction that is later by less is not worse.");
        var report = keys.Default("report_latency", Shapes.DurationNs("0 s", "1 h"), "0 s", "Likewise a report.");
        var earlier = keys.Default("earlier", new WordShape<bool>(("better", false), ("worse", true)), "better", "What a reaction is that comes earlier: better, or worse where builds are not meant to decide otherwise than before.");
        return (entries, _) => new(entries.Get(reaction) / 1e9, entries.Get(report) / 1e9) { EarlierIsWorse = entries.Get(earlier) };
    });

    private static IReadOnlyList<string> Expand(string pattern, Node node, Reading reading)
    {
        string path = reading.Resolve(pattern);
        if (reading.Stored) { return [path]; }
        if (!Glob.HasWildcard(pattern))
        {
            if (!File.Exists(path)) { reading.Refuse(node, $"{node.Shown}, which does not exist", "a scenario file, relative to the suite file"); }
            else if (DocumentKind.TryOf(path) != DocumentType.Scenario) { reading.Refuse(node, $"{node.Shown}, which is no scenario", "a file that begins with scenario:"); }
            return [path];
        }
        string[] found = [.. Glob.Files(path).Where(f => DocumentKind.TryOf(f) == DocumentType.Scenario)];
        if (found.Length == 0) { reading.Refuse(node, $"{node.Shown}, which matches no scenario", "a pattern that matches scenario files, relative to the suite file"); }
        return found;
    }
}
