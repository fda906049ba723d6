using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.Axis;

/// <summary>
/// Colours of classes: the seven hues of Okabe and Ito, "Color Universal Design" (2008), black left out because it is the page's
/// ink. Fixed by the order of classes in the rig file; from the eighth class on the hues come again with stripes.
/// </summary>
internal sealed class ClassColours
{
    public const string None = "(none)";

    /// <summary>Hue, and the ink that reads on it with a contrast of at least 4.5:1.</summary>
    internal static readonly (string Name, string Hue, string Ink)[] Palette =
    [
        ("orange", "#e69f00", "#000000"), ("sky blue", "#56b4e9", "#000000"), ("bluish green", "#009e73", "#000000"),
        ("yellow", "#f0e442", "#000000"), ("blue", "#0072b2", "#ffffff"), ("vermillion", "#d55e00", "#000000"),
        ("reddish purple", "#cc79a7", "#000000"),
    ];

    private readonly List<string> _names = [];
    private readonly Dictionary<string, int> _index = new(StringComparer.Ordinal);

    public ClassColours(StoredRun run)
        : this(run.ClassOrder
            .Concat(run.Reference.Select(r => r.Class))
            .Concat(run.Score.Outputs.SelectMany(o => o.Strict.ConfusionNs.Keys.Concat(o.Strict.ConfusionNs.Values.SelectMany(row => row.Keys).Order(StringComparer.Ordinal))))
            .Concat(run.Decisions.Select(d => d.Class)))
    {
    }

    /// <param name="found">Classes in the order of their colours; each may come again.</param>
    public ClassColours(IEnumerable<string> found)
    {
        foreach (string name in found)
        {
            if (name != None && _index.TryAdd(name, _names.Count)) { _names.Add(name); }
        }
    }

    /// <summary>All classes, in the order of their colours; "(none)" is not one.</summary>
    public IReadOnlyList<string> Names => _names;

    /// <summary>−1 for "(none)".</summary>
    public int IndexOf(string name) => _index.GetValueOrDefault(name, -1);

    public static (string Hue, string Ink, bool Striped) At(int index) =>
        (Palette[index % Palette.Length].Hue, Palette[index % Palette.Length].Ink, index / Palette.Length % 2 == 1);

    /// <summary>A small square in the class's colour, before its name.</summary>
    public Markup Label(string name)
    {
        int index = IndexOf(name);
        if (index < 0) { return Markup.Of($"<span class=\"class\"><i class=\"swatch none\"></i>{name}</span>"); }
        var (hue, _, striped) = At(index);
        return Markup.Of($"<span class=\"class\"><i class=\"swatch{(striped ? " striped" : "")}\" style=\"background-color:{hue}\"></i>{name}</span>");
    }
}
