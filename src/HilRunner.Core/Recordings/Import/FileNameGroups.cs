using System.Text.RegularExpressions;

namespace HilRunner.Core.Recordings.Import;

/// <summary>What the file's name says, put into the texts of a map: {person} becomes what the group of that name matched.</summary>
internal static partial class FileNameGroups
{
    /// <exception cref="BadInputException">The name does not match, or a text names a group that is not there.</exception>
    public static ImportMap Fill(ImportMap map, string path)
    {
        if (map.FileName is not { } pattern) { return map; }
        string name = Path.GetFileName(path);
        var match = Regex.Match(name, pattern, RegexOptions.CultureInvariant | RegexOptions.NonBacktracking);
        if (!match.Success) { throw Bad(path, "a file name that file_name does not match", $"a name like {pattern}"); }
        string Put(string text) => Placeholder().Replace(text, m => match.Groups[m.Groups[1].Value] is { Success: true } g ? g.Value
            : throw Bad(path, $"{m.Value} in the map, which file_name does not find", "a named group of file_name"));
        Dictionary<string, string> All(IReadOnlyDictionary<string, string> texts) => texts.ToDictionary(t => t.Key, t => Put(t.Value));
        return map with
        {
            FileName = null,
            Where = All(map.Where),
            Labels = map.Labels is { } labels ? labels with { Path = Put(labels.Path), Where = All(labels.Where) } : null,
            With = map.With is { } with ? with with { Path = Put(with.Path) } : null,
            Info = map.Info with
            {
                Source = map.Info.Source is { } source ? Put(source) : null,
                Mounting = map.Info.Mounting is { } mounting ? Put(mounting) : null,
                Provenance = map.Info.Provenance is { } provenance ? Put(provenance) : null,
            },
        };
    }

    private static BadInputException Bad(string path, string found, string expected) => new([new Fault(path, 0, 0, found, expected, "correct file_name in the map")]);

    [GeneratedRegex(@"\{([A-Za-z_]\w*)\}")]
    private static partial Regex Placeholder();
}
