using System.Reflection;

namespace HilRunner.Reporting.Page;

/// <summary>A page that needs nothing from outside: style and script are inside it.</summary>
internal sealed class HtmlPage(TextWriter output)
{
    public void Add(HtmlText text) => output.Write(text.ToString());
    public void Add(Markup markup) => output.Write(markup.Html);

    public void Begin(string title)
    {
        // Nothing is fetched, whatever a class name might say: the policy allows what is inside the file only.
        Add($"""
            <!doctype html>
            <html lang="en">
            <head>
            <meta charset="utf-8">
            <meta name="viewport" content="width=device-width, initial-scale=1">
            <meta name="color-scheme" content="light dark">
            <meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
            <title>{title}</title>
            <style>{Asset("report.css")}</style>
            </head>
            <body>

            """);
    }

    public void End() => Add($"</body>\n</html>\n");

    /// <summary>A section under its heading, until <see cref="EndSection"/>.</summary>
    public void BeginSection(string id, string heading) => Add($"<section class=\"long\" aria-labelledby=\"{id}\"><h2 id=\"{id}\">{heading}</h2>\n<div>\n");

    public void EndSection() => Add($"</div></section>\n");

    /// <summary>A row of a table of facts.</summary>
    public static Markup Fact(string name, string value) => Markup.Of($"<tr><th scope=\"row\">{name}</th><td>{value}</td></tr>");

    /// <summary>As a sentence begins.</summary>
    public static string Upper(string text) => text.Length == 0 ? "" : char.ToUpperInvariant(text[0]) + text[1..];

    public void Script(string name) => Add($"<script>{Asset(name)}</script>\n");

    private static Markup Asset(string name)
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(name)
            ?? throw new InvalidOperationException($"the assembly has no resource {name}");
        using var reader = new StreamReader(stream);
        return new(reader.ReadToEnd());
    }

    /// <summary>A figure that is absent, with its reason: on hover, to a screen reader, and in print.</summary>
    public static Markup Absent(string why) =>
        Markup.Of($"<span class=\"absent\" title=\"{why}\">{Figure.Absent}<span class=\"why\"> ({why})</span></span>");

    /// <summary>The figure, or its absence with the reason.</summary>
    public static Markup FigureOr(string figure, string why) => figure == Figure.Absent ? Absent(why) : Markup.Of($"{figure}");

    /// <summary>A table that scrolls sideways in a frame of its own where the screen is too narrow.</summary>
    public void Table(string caption, IReadOnlyList<string> heads, IEnumerable<Markup> rows, string css = "")
    {
        Add($"<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{caption}\"><table class=\"{css}\"><caption>{caption}</caption>\n<thead><tr>");
        foreach (string head in heads) { Add($"<th scope=\"col\">{head}</th>"); }
        Add($"</tr></thead>\n<tbody>\n");
        foreach (Markup row in rows) { Add(row); Add($"\n"); }
        Add($"</tbody></table></div>\n");
    }
}
