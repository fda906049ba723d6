using HilRunner.Core.Documents;

namespace HilRunner.Core.Scenarios;

/// <summary>Reads a file that holds nothing but limits, written as in a scenario: <c>limits: [{measure: …}]</c>.</summary>
public static class LimitsFile
{
    private static readonly Shape<IReadOnlyList<Limit>> s_shape = MapShape.Of<IReadOnlyList<Limit>>(null, "a map with limits", keys =>
    {
        var limits = keys.Required("limits", LimitShape.List, "As in a scenario.");
        return (entries, _) => entries.Get(limits);
    });

    /// <exception cref="BadInputException">The file cannot be read or used; holds every fault, with its place.</exception>
    public static IReadOnlyList<Limit> Read(string path) => DocumentReader.Parse(s_shape, DocumentReader.ReadText(path), path);
}
