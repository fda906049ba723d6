using System.Globalization;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Time;

namespace HilRunner.Cli.Importing;

/// <summary>What an import understood, for people: fits 80 columns.</summary>
internal static class ImportPreview
{
    private const int MostRecordings = 20;
    private const int MostBadRows = 5;
    private const int LongestName = 24;

    public static void Print(IReadOnlyList<ImportSurvey> surveys, AppliedTransforms? applied)
    {
        for (int i = 0; i < surveys.Count; i++)
        {
            if (i > 0) { Line(""); }
            Print(surveys[i]);
        }
        if (applied is null) { return; }
        foreach (string transform in applied.Said) { Say("apply", transform); }
        Say("", FormattableString.Invariant($"to each recording; what stands above is of the log, before it; seed {applied.Seed}"));
    }

    public static void PrintWritten(IReadOnlyList<ImportSurvey> surveys)
    {
        var paths = surveys.SelectMany(s => s.Files).Where(f => !f.EndsWith(".yaml", StringComparison.Ordinal) && !f.EndsWith(".labels.csv", StringComparison.Ordinal)).ToList();
        foreach (string path in paths.Take(MostRecordings)) { Line($"written: {path}"); }
        if (paths.Count > MostRecordings) { Line($"written: {paths.Count - MostRecordings} more in {surveys[0].Destination.Folder}"); }
    }

    private static void Print(ImportSurvey survey)
    {
        Say("log", survey.Path);
        Say("form", Form(survey.Map.Reading));
        foreach (var column in survey.Columns)
        {
            string unit = column.Unit is { } u ? $" in {u}" : "";
            string target = column.Column is { } c ? $" → {c}" : column.Role is "label" ? " → labels" : "";
            Say("column", $"{column.Name}: {column.Role}{unit}{target}{(column.Stored is { } stored ? $" ({stored})" : "")}");
        }
        foreach (string row in survey.FirstRows) { Say("row", row); }
        foreach (var placing in survey.Recordings.GroupBy(r => r.Placing)) { Say("times", Placed(placing.Key, placing.Count(), survey.Recordings.Count)); }
        Say("rows", Rows(survey.Rows));
        Recordings(survey.Recordings);
        foreach (var fault in survey.BadRows.Take(MostBadRows)) { Say("bad row", fault.ToString()); }
        if (survey.Rows.Bad > MostBadRows) { Say("", $"and {Count(survey.Rows.Bad - MostBadRows)} more bad rows"); }
        foreach (string doubt in survey.Doubts) { Say("doubt", doubt); }
    }

    private static string Form(ImportReading reading)
    {
        if (reading.Format == ImportFormat.Parquet) { return "Parquet"; }
        string encoding = reading.Encoding switch { TextCoding.Utf16 or TextCoding.Utf16BigEndian => ", UTF-16", TextCoding.Latin1 => ", Latin-1", _ => "" };
        if (reading.Format == ImportFormat.JsonLines) { return "JSON Lines" + encoding; }
        return $"text, columns parted by {reading.Separator}, decimal {(reading.DecimalComma == true ? "comma" : "point")}, {(reading.Header == true ? "header" : "no header")}"
            + (reading.LineEnd is { Length: > 0 } end ? $", lines end in {end}" : "") + (reading.Comment is { Length: > 0 } comment ? $", comments after {comment}" : "") + encoding;
    }

    private static string Placed(Placing placing, int some, int all)
    {
        string words = placing switch
        {
            Placing.ByRate => "no stamps: samples are placed by the rate",
            Placing.Stamps => "the stamps are even and stay",
            Placing.Evened => "the stamps jitter: samples are placed evenly, without stamps",
            _ => "samples are interpolated between the stamps",
        };
        return some == all ? words : $"{words} ({some} of {all} recordings)";
    }

    private static string Rows(ImportRowCounts rows)
    {
        var parts = new List<string> { $"{Count(rows.Read)} read", $"{Count(rows.Used)} used" };
        if (rows.LeftOut > 0) { parts.Add($"{Count(rows.LeftOut)} left out by where"); }
        if (rows.Bad > 0) { parts.Add($"{Count(rows.Bad)} bad"); }
        if (rows.WithoutPartner > 0) { parts.Add($"{Count(rows.WithoutPartner)} without partner"); }
        if (rows.TooShort > 0) { parts.Add($"{Count(rows.TooShort)} in stretches too short"); }
        return string.Join(", ", parts);
    }

    private static void Recordings(IReadOnlyList<PlannedRecording> recordings)
    {
        var table = new ScreenTable();
        table.AddColumn("recording", noWrap: true);
        foreach (string head in new[] { "samples", "rate", "length", "mean |a|" }) { table.AddColumn(head, right: true); }
        table.AddColumn("labels");
        foreach (var r in recordings.Take(MostRecordings))
        {
            string key = r.Key.Count > 0 ? $" ({string.Join(", ", r.Key)})" : "";
            // The end of a name tells recordings apart.
            string name = (r.Name.Length > LongestName ? "…" + r.Name[^(LongestName - 1)..] : r.Name) + key;
            table.AddRow(
                name, Count(r.Samples), r.Rate.ToString(), Seconds(r.Duration),
                r.MeanMagnitudeG is { } g ? g.ToString("0.000 'g'", CultureInfo.InvariantCulture) : "—", Labels(r));
        }
        Terminal.Write(table);
        if (recordings.Count > MostRecordings) { Line($"  and {recordings.Count - MostRecordings} more"); }
    }

    private static string Labels(PlannedRecording recording)
    {
        var classes = recording.Labels.GroupBy(l => l.Class).Select(g => (g.Key, Ns: g.Sum(l => Math.Min(l.End.Ns, recording.Duration.Ns) - Math.Min(l.Start.Ns, recording.Duration.Ns)))).OrderByDescending(c => c.Ns).ToList();
        string text = string.Join(", ", classes.Take(6).Select(c => $"{c.Key} {Seconds(new(c.Ns))}"));
        return classes.Count == 0 ? "—" : classes.Count > 6 ? $"{text}, {classes.Count - 6} more" : text;
    }

    private static string Seconds(StimulusTime time) => time.Seconds.ToString("0.0 's'", CultureInfo.InvariantCulture);

    private static string Count(long n) => n.ToString("#,0", CultureInfo.InvariantCulture).Replace(',', '\u202f');

    private static void Say(string what, string text) => Line($"{what,-10} {text}");

    private static void Line(string text) => Console.Out.WriteLine(text);
}
