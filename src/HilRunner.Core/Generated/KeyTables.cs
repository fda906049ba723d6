using System.Text;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Generated;

/// <summary>The keys of a document as Markdown tables, one for each titled part, in the order in which they appear.</summary>
internal static class KeyTables
{
    public static string Of(IShape root)
    {
        var text = new StringBuilder();
        var titles = new HashSet<string>();
        var open = new Queue<(IShape Shape, string Place)>([(root, "")]);
        while (open.TryDequeue(out var next))
        {
            if (!titles.Add(next.Shape.Title!)) { continue; }
            text.Append($"#### {next.Shape.Title}\n\n");
            if (next.Place.Length > 0) { text.Append($"At `{next.Place}`.\n\n"); }
            text.Append("| key | value | when absent | meaning |\n|---|---|---|---|\n");
            foreach (Part part in next.Shape.Parts) { AddRows(text, open, part, part.Suffix, next.Place + part.Suffix); }
            text.Append('\n');
        }
        return text.ToString().TrimEnd('\n') + "\n";
    }

    private static void AddRows(StringBuilder text, Queue<(IShape, string)> open, Part part, string key, string place)
    {
        if (part.Key is { } described)
        {
            string absent = described.Required ? "required" : described.Default is { } value ? $"`{value}`" : "—";
            text.Append($"| `{Cell(key.TrimStart('.'))}` | {Cell(described.Shape.Brief)} | {Cell(absent)} | {Cell(described.Doc)} |\n");
        }
        if (part.Shape.Title is not null)
        {
            open.Enqueue((part.Shape, place.TrimStart('.')));
            return;
        }
        foreach (Part inner in part.Shape.Parts) { AddRows(text, open, inner, key + inner.Suffix, place + inner.Suffix); }
    }

    private static string Cell(string text) => text.Replace("|", "\\|", StringComparison.Ordinal).Replace("<", "&lt;", StringComparison.Ordinal);
}
