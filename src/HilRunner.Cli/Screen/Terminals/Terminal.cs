using System.Text;
using HilRunner.Transport.Posix;
using Spectre.Console;

namespace HilRunner.Cli.Screen.Terminals;

/// <summary>
/// All that this program prints goes through here: <see cref="System.Console.Out"/> and <see cref="System.Console.Error"/> once
/// they are installed, texts of several lines, tables and coloured lines, and what is drawn over and over. What comes from
/// outside can so never steer a terminal; only what is drawn here does.
/// </summary>
#pragma warning disable RS0030 // The one place that opens them.
internal static class Terminal
{
    private static readonly StandardStream? s_output = StandardStream.IsAvailable ? StandardStream.Of(1) : null;
    private static readonly StandardStream? s_error = StandardStream.IsAvailable ? StandardStream.Of(2) : null;
    private static TextWriter s_out = Raw(s_output ?? System.Console.OpenStandardOutput());
    private static readonly Lazy<IAnsiConsole> s_console = new(() => AnsiConsole.Create(new()
    {
        Out = new Drawn(), Ansi = System.Console.IsOutputRedirected ? AnsiSupport.No : AnsiSupport.Detect,
            ColorSystem = System.Console.IsOutputRedirected ? ColorSystemSupport.NoColors : ColorSystemSupport.Detect,
    }));

    /// <summary>
    /// The error output as it is, for what is drawn there; who writes to it sees to it that text from outside is printable.
    /// </summary>
    public static TextWriter Drawing { get; private set; } = Raw(s_error ?? System.Console.OpenStandardError());

    /// <summary>Standard output for texts of several lines whose line breaks are meant: JSON, help.</summary>
    public static TextWriter Documents => new PrintableWriter(s_out, keepLines: true);

    /// <summary>The same of the error output.</summary>
    public static TextWriter ErrorDocuments => new PrintableWriter(Drawing, keepLines: true);

    /// <summary>Cancelled as soon as nobody reads standard output any more.</summary>
    public static CancellationToken ReaderGone => s_output?.Gone ?? CancellationToken.None;

    /// <summary>Why standard output lacks something that was printed; null: it does not.</summary>
    public static string? Missing => s_output?.Fault;

    /// <summary>From here on what is printed goes to the process's own streams.</summary>
    public static void Install() => Install(s_out, Drawing);

    /// <summary>The same for a host that calls commands within its own process.</summary>
    /// <param name="output">In place of standard output.</param>
    /// <param name="error">In place of the error output.</param>
    public static void Install(TextWriter output, TextWriter error)
    {
        (s_out, Drawing) = (output, error);
        System.Console.SetOut(new PrintableWriter(s_out));
        System.Console.SetError(new PrintableWriter(Drawing));
    }

    /// <summary>A line, wrapped at the terminal's width.</summary>
    public static void Line(Styled text) => s_console.Value.Write(text.Rendered(end: "\n"));

    public static void Line() => s_console.Value.Write(new Styled().Rendered(end: "\n"));

    public static void Write(ScreenTable table) => s_console.Value.Write(table.Rendered);

    public static void Write(ScreenGrid grid) => s_console.Value.Write(grid.Rendered);

    public static void Bell() => Drawing.Write('\a');

    private static TextWriter Raw(Stream stream) =>
        TextWriter.Synchronized(new StreamWriter(stream, new UTF8Encoding(false)) { AutoFlush = true, NewLine = "\n" });

    private sealed class Drawn : IAnsiConsoleOutput
    {
        private const int UsualWidth = 80, UsualHeight = 24;

        public TextWriter Writer => s_out;
        public bool IsTerminal => !System.Console.IsOutputRedirected;
        public int Width => Safe(() => System.Console.BufferWidth, UsualWidth);
        public int Height => Safe(() => System.Console.WindowHeight, UsualHeight);

        public void SetEncoding(Encoding encoding) { }

        private static int Safe(Func<int> size, int usual)
        {
            try { return size() is var known && known > 0 ? known : usual; }
            catch (IOException) { return usual; }
        }
    }
}
