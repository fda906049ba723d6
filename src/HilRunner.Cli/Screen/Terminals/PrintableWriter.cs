using System.Text;
using HilRunner.Core.Files;

namespace HilRunner.Cli.Screen.Terminals;

/// <summary>
/// A writer that lets nothing through that could steer a terminal. What is written in one call is taken as one line or a part of
/// it: a line break inside it is shown, not made.
/// </summary>
/// <param name="output">Where it goes; each line in one call.</param>
/// <param name="keepLines">The line breaks of what is written are meant: a JSON document, a help text.</param>
internal sealed class PrintableWriter(TextWriter output, bool keepLines = false) : TextWriter
{
    public override Encoding Encoding => output.Encoding;

    public override void Write(char value) => Write(value.ToString());

    public override void Write(char[] buffer, int index, int count) => Write(new string(buffer, index, count));

    public override void Write(ReadOnlySpan<char> buffer) => Write(new string(buffer));

    public override void Write(string? value) => output.Write(Printable(value));

    public override void WriteLine() => output.Write("\n");

    public override void WriteLine(string? value) => output.Write(Printable(value) + "\n");

    public override void WriteLine(char[] buffer, int index, int count) => WriteLine(new string(buffer, index, count));

    public override void WriteLine(ReadOnlySpan<char> buffer) => WriteLine(new string(buffer));

    public override void WriteLine(StringBuilder? value) => WriteLine(value?.ToString());

    public override void Write(StringBuilder? value) => Write(value?.ToString());

    public override void Flush() => output.Flush();

    private string Printable(string? text) => keepLines ? PrintableText.Lines(text ?? "") : PrintableText.Line(text ?? "");
}
