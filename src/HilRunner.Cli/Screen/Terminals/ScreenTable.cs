using HilRunner.Core.Files;
using Spectre.Console;
using Spectre.Console.Rendering;

namespace HilRunner.Cli.Screen.Terminals;

/// <summary>A table on the terminal.</summary>
/// <param name="wide">As wide as the terminal.</param>
#pragma warning disable RS0030 // The one place that makes tables.
internal sealed class ScreenTable(bool wide = false)
{
    private readonly Table _table = new() { Border = TableBorder.Simple, Expand = wide };

    public IRenderable Rendered => _table;

    public void Title(string title) => _table.Title = new(Markup.Escape(PrintableText.Line(title)));

    /// <param name="noWrap">Its cells are never broken.</param>
    public void AddColumn(Styled head, bool right = false, bool noWrap = false) =>
        _table.AddColumn(new TableColumn(head.Rendered()) { Alignment = right ? Justify.Right : null, NoWrap = noWrap });

    public void AddColumns(params ReadOnlySpan<string> heads)
    {
        foreach (string head in heads) { AddColumn(head); }
    }

    public void AddRow(params IEnumerable<Styled> cells) => _table.AddRow(cells.Select(c => c.Rendered()));
}

/// <summary>Rows of a word and what it is about, the word in a column of a fixed width.</summary>
/// <param name="width">Of the first column, in cells.</param>
internal sealed class ScreenGrid(int width)
{
    private readonly Grid _grid = new Grid().AddColumn(new GridColumn { NoWrap = true, Width = width, Padding = new(0, 0, 1, 0) })
        .AddColumn(new GridColumn { Padding = new(0) });

    public IRenderable Rendered => _grid;

    public void AddRow(Styled word, Styled about) => _grid.AddRow(word.Rendered(), about.Rendered());
}
