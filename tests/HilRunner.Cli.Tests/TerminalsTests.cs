using System.Text;
using HilRunner.Cli.Screen.Terminals;
using Spectre.Console;

namespace HilRunner.Cli.Tests;

/// <summary>The writer and the tables that all printed text goes through.</summary>
[Parallelizable]
public class TerminalsTests
{
    private const string Evil = "a\e[2J\n[red]\u202e\ud800[/]", Shown = @"a\u001b[2J\u000a[red]\u202e\ud800[/]";

    [Test]
    public void EveryWayToWriteIsPrintable()
    {
        var output = new StringWriter();
        using var writer = new PrintableWriter(output) { NewLine = "\n" };
        writer.Write(Evil);
        writer.Write(Evil.ToCharArray());
        writer.Write(Evil.AsSpan());
        writer.Write(new StringBuilder(Evil));
        writer.Write("{0}", Evil);
        writer.Write((object)Evil);
        writer.Write('\e');
        Assert.That(output.ToString(), Is.EqualTo(string.Concat(Enumerable.Repeat(Shown, 6)) + @"\u001b"));
    }

    [Test]
    public void EveryLineIsOneLine()
    {
        var output = new StringWriter();
        using var writer = TextWriter.Synchronized(new PrintableWriter(output) { NewLine = "\n" });
        writer.WriteLine(Evil);
        writer.WriteLine(Evil.ToCharArray());
        writer.WriteLine(Evil.AsSpan());
        writer.WriteLine(new StringBuilder(Evil));
        writer.WriteLine("{0}", Evil);
        writer.WriteLine((object)Evil);
        writer.WriteLine();
        Assert.That(output.ToString().Split('\n'), Is.EqualTo((string[])[.. Enumerable.Repeat(Shown, 6), "", ""]));
    }

    [Test]
    public void TablesTakeAnyText()
    {
        var table = new ScreenTable();
        table.Title(Evil);
        table.AddColumns(Evil, "plain");
        table.AddRow(Evil, Styled.In(Evil, Color.Red) + "[" + Evil);
        table.AddRow("]", Styled.Lines(["one", "two\n"]));
        var grid = new ScreenGrid(40);
        grid.AddRow(Evil, Evil);
        var output = new StringWriter();
        var console = AnsiConsole.Create(
            new() { Ansi = AnsiSupport.No, ColorSystem = ColorSystemSupport.NoColors, Out = new AnsiConsoleOutput(output) });
        console.Profile.Width = 200;
        console.Write(table.Rendered);
        console.Write(grid.Rendered);
        string said = output.ToString();
        Assert.That(said.Split(Shown), Has.Length.EqualTo(8), said);
        Assert.That(said.Where(c => char.IsControl(c) && c != '\n'), Is.Empty);
        Assert.That(said, Does.Contain(@"two\u000a"));
    }
}
