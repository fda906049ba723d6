using HilRunner.Core.Files;

namespace HilRunner.Core.Recordings.Import;

/// <summary>
/// Foreign logs → recordings, in two passes over the log and fixed memory: the first measures and tells what was understood, the
/// second writes. Every row of the log is in a recording or in a count (<see cref="ImportRowCounts"/>).
/// </summary>
public static class RecordingImport
{
    private const int ShownRows = 3;

    /// <summary>The first pass; writes nothing.</summary>
    /// <exception cref="BadInputException">All faults of the log, with their places, or what must be said to understand it.</exception>
    public static ImportSurvey Survey(string path, ImportMap map, ImportDestination destination) => InputFile.Using(path, "a log", () =>
    {
        var plan = ImportPlan.Of(path, map);
        FaultList faults = new(path), bad = new(path);
        using var rows = plan.Open(bad, faults);
        var survey = new SurveyTarget(path, plan.Channels, rows.HasTime, rows.HasLabel, plan.Steps?.ResolutionNs ?? 0, destination.Parquet);
        var first = new FirstRows(survey, plan.Channels, ShownRows);
        if (rows.HasTime && plan.Steps is null) { faults.Add(0, 0, "fewer than two rows with rising stamps", "a log of two samples or more", "leave t out and say --rate"); }
        var counts = ImportPass.Run(path, rows, plan.Map, plan.Steps, first, faults);
        IReadOnlyList<Fault> reported = [];
        if (plan.Map.SplitAtBadRows) { reported = bad.First; }
        else { bad.MoveTo(faults); }
        if (counts.Used == 0 && !faults.Any) { faults.Add(0, 0, counts.Read == 0 ? "no row of data" : $"none of {counts.Read} rows that can be used", "rows of numbers", counts.LeftOut > 0 ? "correct where" : ""); }
        faults.ThrowIfAny();
        return Planned(plan, map, destination, survey, counts, reported, first.Shown, faults);
    });

    /// <summary>The second pass. A file of a name appears when it is whole; files that are there are replaced.</summary>
    /// <exception cref="IOException">A file cannot be written, or the log has changed since it was measured.</exception>
    public static void Write(ImportSurvey survey)
    {
        PlainFile.CreateFolder(survey.Destination.Folder);
        var plan = survey.Plan;
        FaultList faults = new(plan.Path), bad = new(plan.Path);
        using var rows = plan.Open(bad, faults);
        using var target = new WriteTarget(survey);
        var counts = ImportPass.Run(plan.Path, rows, plan.Map, plan.Steps, target, faults);
        if (counts with { Used = counts.Used - survey.Rows.TooShort, TooShort = survey.Rows.TooShort } != survey.Rows)
        {
            throw new IOException($"{survey.Path} has changed while it was imported: import it again");
        }
    }

    private static ImportSurvey Planned(ImportPlan plan, ImportMap said, ImportDestination destination, SurveyTarget survey, ImportRowCounts counts, IReadOnlyList<Fault> badRows, IReadOnlyList<string> firstRows, FaultList faults)
    {
        var usable = survey.Blocks.Where(b => b.Samples >= (plan.Map.Rate is null && b.Times is not null ? 2 : 1)).ToList();
        long tooShort = survey.Blocks.Sum(b => b.Samples) - usable.Sum(b => b.Samples);
        bool single = usable.Count == 1 && survey.Blocks.Count == 1;
        bool bySamples = plan.Map.Labels is { } l && LabelFile.BySamples(l);
        var labels = new LabelPlan(plan.Labels, bySamples, plan.LabelPath, keepEnds: plan.IsNative && single && plan.Map.Labels is null);
        string name = destination.Name ?? Path.GetFileNameWithoutExtension(plan.Path);
        string digits = new('0', Math.Max(2, usable.Count.ToString(System.Globalization.CultureInfo.InvariantCulture).Length));
        var recordings = new List<PlannedRecording>();
        foreach (var block in usable)
        {
            if (RecordingPlanner.Of(block, plan, labels, bySamples, single, faults) is not { } recording) { continue; }
            string number = (recordings.Count + 1).ToString(digits, System.Globalization.CultureInfo.InvariantCulture);
            recordings.Add(recording with { Name = usable.Count == 1 ? name : $"{name}-{number}" });
        }
        if (usable.Count == 0 && !faults.Any) { faults.Add(0, 0, "no stretch of two samples or more", "a recording", "say --gap, or --rate"); }
        faults.ThrowIfAny();
        List<string> doubts = [.. plan.Doubts, .. labels.Doubts(), .. RecordingPlanner.Doubts(recordings, plan)];
        if (tooShort > 0) { doubts.Add($"{tooShort} row{(tooShort == 1 ? "" : "s")} left out: stretches of one sample have no rate"); }
        return new(plan)
        {
            Path = plan.Path,
            Map = said with
            {
                Reading = plan.Map.Reading,
                With = said.With is { } with && plan.Map.With is { } second ? with with { Reading = second.Reading, Join = second.Join } : said.With,
            },
            Destination = destination,
            Columns = Columns(plan, usable, destination.Parquet),
            Recordings = recordings,
            Rows = counts with { Used = counts.Used - tooShort, TooShort = tooShort },
            BadRows = badRows,
            FirstRows = firstRows,
            Doubts = doubts,
            Files = [.. recordings.SelectMany(r => FilesOf(destination, r))],
        };
    }

    internal static string PathOf(ImportDestination destination, PlannedRecording recording) =>
        Path.Combine(destination.Folder, recording.Name + (destination.Parquet ? ".parquet" : ".csv"));

    private static IEnumerable<string> FilesOf(ImportDestination destination, PlannedRecording recording)
    {
        string path = PathOf(destination, recording);
        yield return path;
        if (destination.Parquet) { yield break; }
        if (recording.Labels.Count > 0) { yield return Path.ChangeExtension(path, ".labels.csv"); }
        yield return Path.ChangeExtension(path, ".yaml");
    }

    private static List<ImportedColumn> Columns(ImportPlan plan, List<BlockSurvey> blocks, bool parquet)
    {
        var columns = new List<ImportedColumn>();
        int channel = 0;
        foreach (var reading in new[] { plan.Map.Reading, plan.PartnerPath is null ? null : plan.Map.With!.Reading }.OfType<ImportReading>())
        {
            // Channels stand in the order of the map, file after file.
            foreach (var column in reading.Columns!.Where(c => c.Role != "_"))
            {
                bool isChannel = ColumnUse.ChannelNames.Contains(column.Role);
                string? unit = !isChannel ? column.Role == "t" ? reading.Time?.ToString() : null
                    : (ColumnUse.IsAcceleration(column.Role) ? reading.Acceleration : reading.Gyro)?.ToString();
                int at = isChannel ? channel++ : -1;
                string file = ReferenceEquals(reading, plan.Map.Reading) ? "" : $" of {Path.GetFileName(plan.PartnerPath)}";
                columns.Add(new((column.Header ?? $"column {column.Place}") + file, column.Role, unit, isChannel ? plan.Channels[at].Column : null, isChannel && parquet && plan.Map.Resample is null ? Stored(blocks, at) : null));
            }
        }
        return columns;
    }

    private static string Stored(List<BlockSurvey> blocks, int channel)
    {
        var forms = blocks.Select(b => b.Forms![channel]).ToList();
        return forms.All(f => f.Decimal is not null) ? FormattableString.Invariant($"decimal, {forms.Max(f => f.Scale)} digits behind the point")
            : forms.All(f => f.Decimal is not null || f.Shortest) ? "double, same digits"
            : "double, same values, but digits are written in their shortest form";
    }
}
