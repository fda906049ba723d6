using System.CommandLine;
using HilRunner.Core.Recordings.Import;

namespace HilRunner.Cli.Importing;

/// <summary>The options that stand for keys of a map; each is read as the key is, so that both know the same values.</summary>
internal static class MapOptions
{
    private static readonly (Option<string[]> Option, string[] Keys, MapSettingForm Form)[] s_options =
    [
        Value("--format", "text, jsonl or parquet.", "format"),
        Value("--encoding", "utf-8, utf-16, utf-16be or latin1.", "encoding"),
        Value("--separator", "comma, semicolon, tab or space (any run of blanks).", "separator"),
        Value("--header", "true or false: the first line names the columns.", "header"),
        Value("--skip", "Lines left out at the start.", "skip"),
        Text("--comment", "What comment lines start with.", "comment"),
        Value("--decimal", "point or comma.", "decimal"),
        Text("--line-end", "What every line ends in, for instance ';'.", "line_end"),
        Value("--quotes", "true or false: cells may be quoted.", "quotes"),
        Of("--columns", "t,ax,ay,az,label,_ in the order of the file, or ax=NAME,ay=NAME,t=1 by header or number.", MapSettingForm.ListOrPairs, "columns"),
        Value("--acceleration", "g, mg, m/s2, or what one count is: '0.5 mg'.", "acceleration"),
        Value("--gyro", "dps, mdps, rad/s, or what one count is: '70 mdps'.", "gyro"),
        Of("--time", "s, ms, us, ns, iso, or '{tick: 1 ms, bits: 16}'.", MapSettingForm.Tree, "time"),
        Value("--rate", "Sample rate, where there are no stamps: '50 Hz'.", "rate"),
        Value("--resample", "Interpolate uneven stamps to this rate.", "resample"),
        Value("--gap", "A longer step is a gap: '200 ms'.", "gap"),
        Value("--at-gaps", "error, or split: a new recording starts at gaps and backward jumps.", "at_gaps"),
        Value("--bad-rows", "error, or split: rows that cannot be read are reported and part the recording.", "bad_rows"),
        Of("--split-by", "Columns whose every value is a recording of its own.", MapSettingForm.List, "split_by"),
        Of("--where", "COLUMN=VALUE: only such rows.", MapSettingForm.Pairs, "where"),
        Of("--names", "CODE=CLASS for the column label.", MapSettingForm.Pairs, "names"),
        Of("--labels", "A file of labels.", MapSettingForm.Text, "labels", "path"),
        Of("--label-columns", "start,end,class; or class,first,last; or start,class for events; _ to skip.", MapSettingForm.List, "labels", "columns"),
        Value("--label-separator", "As --separator.", "labels", "separator"),
        Value("--label-header", "true or false.", "labels", "header"),
        Of("--label-where", "COLUMN=VALUE: only such rows of the label file.", MapSettingForm.Pairs, "labels", "where"),
        Value("--label-first-index", "Number of the first sample, 0 or 1.", "labels", "first_index"),
        Value("--label-last", "inclusive or exclusive.", "labels", "last"),
        Of("--label-time", "Unit of start and end, as --time.", MapSettingForm.Tree, "labels", "time"),
        Of("--label-names", "CODE=CLASS for the label file.", MapSettingForm.Pairs, "labels", "names"),
        Text("--source", "Side file: who or what was recorded.", "source"),
        Text("--mounting", "Side file: how the sensor sat.", "mounting"),
        Text("--provenance", "Side file: where the data comes from.", "provenance"),
        Text("--licence", "Side file: the data's licence.", "licence"),
        Value("--range", "Side file: full scale of the sensor: '8 g'.", "range"),
    ];

    private static readonly Option<string?> s_with = new("--with") { Description = "FILE[:MAP]: a second file of the same recording, with other channels." };
    private static readonly Option<string?> s_join = new("--join") { Description = "row or time: how the second file is joined." };
    private static readonly Option<bool> s_invented = new("--invented") { Description = "Side file: made-up data." };

    public static IEnumerable<Option> All => [.. s_options.Select(o => o.Option), s_with, s_join, s_invented];

    /// <summary>What was given. Paths are relative to the working directory, not to the log.</summary>
    /// <exception cref="Core.BadInputException">The map of the second file cannot be read.</exception>
    public static IReadOnlyList<MapSetting> Settings(ParseResult parsed)
    {
        var settings = new List<MapSetting>();
        foreach (var (option, keys, form) in s_options)
        {
            if (parsed.GetValue(option) is not { Length: > 0 } values) { continue; }
            if (keys is ["labels", "path"]) { values = [.. values.Select(Path.GetFullPath)]; }
            settings.Add(new(option.Name, keys, form, values));
        }
        if (parsed.GetValue(s_with) is { } with)
        {
            int at = File.Exists(with) ? -1 : with.LastIndexOf(':');
            settings.Add(new("--with", ["with", "path"], MapSettingForm.Text, [Path.GetFullPath(at < 0 ? with : with[..at])]));
            if (at >= 0) { settings.AddRange(ImportMapFile.ReadingSettings("--with", ["with"], with[(at + 1)..])); }
        }
        if (parsed.GetValue(s_join) is { } join) { settings.Add(new("--join", ["with", "join"], MapSettingForm.Value, [join])); }
        if (parsed.GetValue(s_invented)) { settings.Add(new("--invented", ["invented"], MapSettingForm.Value, ["true"])); }
        return settings;
    }

    private static (Option<string[]>, string[], MapSettingForm) Value(string name, string description, params string[] keys) => Of(name, description, MapSettingForm.Value, keys);

    private static (Option<string[]>, string[], MapSettingForm) Text(string name, string description, params string[] keys) => Of(name, description, MapSettingForm.Text, keys);

    private static (Option<string[]>, string[], MapSettingForm) Of(string name, string description, MapSettingForm form, params string[] keys) =>
        (new(name) { Description = description }, keys, form);
}
