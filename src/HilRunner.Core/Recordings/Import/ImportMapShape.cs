using System.Text.RegularExpressions;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Recordings.Import;

/// <summary>The whole map file of an import.</summary>
internal static class ImportMapShape
{
    public static Shape<ImportMap> Shape { get; } = MapShape.Of<ImportMap>("Import map", "an import map", keys =>
    {
        var name = keys.Required("import", Shapes.Text("the map's name", "activity"), "Name of the map.");
        var reading = ImportReadingShape.Declare(keys);
        var rate = keys.Optional("rate", Shapes.Rate, "Sample rate. Absent: the mean rate of the column t.");
        var resample = keys.Optional("resample", Shapes.Rate, "Uneven stamps are interpolated to this rate (cubic Hermite), which is not below the file's own. Absent: stamps must be even.");
        var gap = keys.Optional("gap", Shapes.DurationNs("1 ns", "1000 h"), "A longer step between samples is a gap. Absent: a step that differs from the usual one by more than half of it (resample: 4 times the usual one).");
        var atGaps = keys.Default("at_gaps", Split, "error", "Gaps, doubled stamps and backward jumps: error, or split: a new recording starts.");
        var badRows = keys.Default("bad_rows", Split, "error", "Rows that cannot be read: error, or split: they are reported, and a new recording starts.");
        var splitBy = keys.Default("split_by", new ListShape<string>("a list of columns, such as [subject]", Shapes.Text("a column", "subject"), 0, 10), "[]",
            "Each value of these columns is a recording of its own.");
        var where = keys.Default("where", ImportLabelShape.Texts("a map from column to value", "COLUMN", Shapes.Text("a value")), "{}", "Only rows with these values are taken; the others are counted.");
        var names = keys.Default("names", ImportLabelShape.Texts("a map from code to class", "CODE", ClassNames.Name), "{}",
            "Code in the column label → class. Codes that are not listed keep their text.");
        var fileName = keys.Optional("file_name", Shapes.Text("a regular expression", @"acc_(?<person>\d+)").Select(Pattern),
            "A pattern of the file's name. Its named groups may stand as {name} in source, where, labels and with.");
        var labels = keys.Optional("labels", ImportLabelShape.Shape, "Labels in a file of their own.");
        var with = keys.Optional("with", Partner(), "A second file of the same recording, with other channels.");
        var source = keys.Optional("source", Shapes.Text("who or what was recorded", "courier 3"), "For the side file: who or what was recorded.");
        var mounting = keys.Optional("mounting", Shapes.Text("how the sensor sat", "inside the lid"), "For the side file: how the sensor sat.");
        var provenance = keys.Optional("provenance", Shapes.Text("where the data comes from"), "For the side file: where the data comes from.");
        var licence = keys.Optional("licence", Shapes.Text("a licence", "CC-BY-4.0"), "For the side file: the data's licence.");
        var range = keys.Optional("range", Shapes.Quantity(UnitKind.Acceleration, "0 g", "1000000 g", aboveMin: true), "For the side file: full scale of the sensor.");
        var invented = keys.Default("invented", Shapes.Flag, "false", "For the side file: true for made-up data.");
        keys.Check((entries, context) =>
        {
            if (!entries.Has(resample) || !entries.Has(rate)) { return; }
            context.Refuse(entries.NodeOf(resample), "there beside rate", "one of them", "rate says what the samples are; resample makes them so");
        });
        return (entries, _) => new ImportMap
        {
            Name = entries.Get(name),
            Reading = reading(entries),
            Rate = entries.MaybeValue(rate),
            Resample = entries.MaybeValue(resample),
            GapNs = entries.MaybeValue(gap),
            SplitAtGaps = entries.Get(atGaps),
            SplitAtBadRows = entries.Get(badRows),
            SplitBy = entries.Get(splitBy),
            Where = entries.Get(where),
            Names = entries.Get(names),
            FileName = entries.Maybe(fileName),
            Labels = entries.Maybe(labels),
            With = entries.Maybe(with),
            Info = new()
            {
                Source = entries.Maybe(source),
                Mounting = entries.Maybe(mounting),
                Provenance = entries.Maybe(provenance),
                Licence = entries.Maybe(licence),
                RangeG = entries.MaybeValue(range),
                Invented = entries.Get(invented),
            },
        };
    });

    private static WordShape<bool> Split => new(("error", false), ("split", true));

    private static string Pattern(string text, Node node, Reading reading)
    {
        try { _ = new Regex(text, RegexOptions.CultureInvariant | RegexOptions.NonBacktracking); }
        catch (Exception e) when (e is ArgumentException or NotSupportedException)
        {
            reading.Refuse(node, $"no regular expression that can be used ({e.Message.TrimEnd('.')})", @"a pattern such as acc_(?<person>\d+)");
        }
        return text;
    }

    private static MapShape<ImportPartner> Partner() => MapShape.Of<ImportPartner>("Second file", "a map with path and columns", keys =>
    {
        var path = keys.Required("path", OpenDataPath.Shape("the path of a file"), "The file, relative to the one that is imported.");
        var join = keys.Optional("join", new WordShape<ImportJoin>(("row", ImportJoin.Row), ("time", ImportJoin.Time)),
            "row: row by row. time: interpolated at the stamps of the first file. Absent: time where both have a column t, else row.");
        var optional = keys.Default("optional", Shapes.Flag, "false", "true: a file that is not there is said, and done without.");
        var reading = ImportReadingShape.Declare(keys);
        return (entries, _) => new ImportPartner(entries.Get(path))
        {
            Join = entries.MaybeValue(join),
            Optional = entries.Get(optional),
            Reading = reading(entries),
        };
    });
}
