using HilRunner.Core.Recordings;
using HilRunner.Core;
using HilRunner.Core.Documents;
using HilRunner.Core.Scenarios;
using HilRunner.Inspection.Reading;

namespace HilRunner.Application.Inspecting;

/// <summary>A recording to look at.</summary>
/// <param name="Momentary">Labels that the scenarios which play it count as events.</param>
/// <param name="Unscored">Labels that they never score.</param>
internal sealed record InspectedPath(string Path, ForeignFormat? Format, string? LabelFolder, IReadOnlyCollection<string> Momentary, IReadOnlyCollection<string> Unscored)
{
    /// <exception cref="BadInputException">Nothing can be said about it.</exception>
    public InspectedRecording Read() => Format is null ? InspectedFile.Read(Path) : InspectedFile.ReadForeign(Path, Format, LabelFolder);
}

/// <summary>What the command line names: recordings, scenarios and suites (whose recordings are meant), folders of any of them.</summary>
internal static class InspectedPaths
{
    /// <param name="faults">Files that cannot be used; the rest is returned all the same.</param>
    /// <param name="notes">What was passed over, for people.</param>
    /// <returns>Every recording once, in order of first mention.</returns>
    public static IReadOnlyList<InspectedPath> Of(IReadOnlyList<string> paths, List<Fault> faults, List<string> notes)
    {
        var found = new List<InspectedPath>();
        foreach (string path in paths)
        {
            if (!Directory.Exists(path))
            {
                Add(path, named: true, found, faults, notes);
                continue;
            }
            string[] files = [.. Directory.EnumerateFiles(path).Where(IsRecording).Order(StringComparer.Ordinal)];
            string[] documents = files.Length > 0 ? files : [.. Directory.EnumerateFiles(path, "*.yaml").Order(StringComparer.Ordinal)];
            if (documents.Length == 0) { faults.Add(new(path, 0, 0, "a folder without recordings", "recordings (*.csv, *.parquet) or scenarios (*.yaml) in it", "check the path")); }
            foreach (string file in documents) { Add(file, named: false, found, faults, notes); }
        }
        return found;
    }

    private static bool IsRecording(string path) =>
        (path.EndsWith(".csv", StringComparison.Ordinal) && !path.EndsWith(".labels.csv", StringComparison.Ordinal)) || path.EndsWith(".parquet", StringComparison.Ordinal);

    private static void Add(string path, bool named, List<InspectedPath> found, List<Fault> faults, List<string> notes)
    {
        if (!path.EndsWith(".yaml", StringComparison.Ordinal) && !path.EndsWith(".yml", StringComparison.Ordinal))
        {
            // A pattern like *.csv names the labels of a recording too, which are read with it.
            bool labels = path.EndsWith(".labels.csv", StringComparison.Ordinal) && File.Exists(path[..^".labels.csv".Length] + ".csv");
            if (!labels) { Merge(found, new(path, null, null, [], [])); }
            return;
        }
        try
        {
            switch (KindOf(path))
            {
                case DocumentType.Scenario: AddScenario(path, found, notes); break;
                case DocumentType.Suite:
                    foreach (string scenario in SuiteFile.Read(path).Scenarios) { Add(scenario, named, found, faults, notes); }
                    break;
                default: notes.Add($"{path}: neither a scenario nor a suite; passed over"); break;
            }
        }
        catch (BadInputException input) { faults.AddRange(input.Faults); }
    }

    /// <summary>Null for other documents, such as a model or a recording's side file: a pattern like *.yaml names them too.</summary>
    private static DocumentType? KindOf(string path)
    {
        if (!File.Exists(path)) { throw new BadInputException([new(path, 0, 0, "no such file", "a recording, a scenario, a suite or a folder of them", "check the path")]); }
        try { return DocumentKind.Of(path); }
        catch (BadInputException) { return null; }
    }

    private static void AddScenario(string path, List<InspectedPath> found, List<string> notes)
    {
        var scenario = ScenarioFile.Read(path);
        string folder = System.IO.Path.GetDirectoryName(path) ?? "";
        var momentary = Labels(scenario, scenario.Rules.Events);
        var unscored = Labels(scenario, scenario.Rules.Unscored);
        var plays = scenario.Steps.OfType<PlayStep>().ToList();
        if (plays.Count == 0) { notes.Add($"{path}: plays no recording; passed over"); }
        foreach (var step in plays) { Merge(found, new(System.IO.Path.Combine(folder, step.Path), step.Format, folder, momentary, unscored)); }
    }

    /// <summary>The labels that become one of these device classes.</summary>
    private static HashSet<string> Labels(Scenario scenario, IReadOnlyList<string> classes) =>
        [.. classes.Where(c => !scenario.Classes.ContainsKey(c)), .. scenario.Classes.Where(m => classes.Contains(m.Value)).Select(m => m.Key)];

    private static void Merge(List<InspectedPath> found, InspectedPath path)
    {
        int at = found.FindIndex(f => System.IO.Path.GetFullPath(f.Path) == System.IO.Path.GetFullPath(path.Path) && SameFormat(f.Format, path.Format));
        if (at < 0) { found.Add(path); }
        else { found[at] = found[at] with { Momentary = [.. found[at].Momentary.Union(path.Momentary)], Unscored = [.. found[at].Unscored.Union(path.Unscored)] }; }
    }

    /// <summary>Formats hold lists, so that two readings of one text are not equal as records.</summary>
    private static bool SameFormat(ForeignFormat? a, ForeignFormat? b)
    {
        if (a is null || b is null) { return a is null && b is null; }
        return a.Separator == b.Separator && a.Header == b.Header && a.Columns.SequenceEqual(b.Columns) && a.Acceleration == b.Acceleration && a.Gyro == b.Gyro && a.Rate == b.Rate
            && a.Labels?.Path == b.Labels?.Path && (a.Labels?.Where ?? new Dictionary<string, string>()).OrderBy(w => w.Key).SequenceEqual((b.Labels?.Where ?? new Dictionary<string, string>()).OrderBy(w => w.Key));
    }
}
