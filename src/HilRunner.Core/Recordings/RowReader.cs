using System.Collections.Frozen;
using System.Text;

namespace HilRunner.Core.Recordings;

/// <summary>
/// Rows of cells of a text file, one at a time: the file is streamed, never held as a whole. Cells are as they stand in the
/// file, quotes included (<see cref="CsvText.Unquote"/>).
/// </summary>
internal abstract class RowReader : IDisposable
{
    private static readonly FrozenDictionary<string, char> s_separators = new Dictionary<string, char>
    {
        ["comma"] = ',', ["semicolon"] = ';', ["tab"] = '\t',
    }.ToFrozenDictionary();

    /// <summary>What a separator may be called in a file format.</summary>
    public static IReadOnlyList<string> Separators { get; } = ["space", "tab", "comma", "semicolon"];

    /// <param name="separator">One of <see cref="Separators"/>; space stands for any run of blanks.</param>
    public static RowReader Open(string path, string separator) => Open(path, new StreamReader(path, Encoding.UTF8), separator);

    /// <param name="path">For messages.</param>
    /// <param name="text">Disposed with the rows.</param>
    /// <param name="separator">One of <see cref="Separators"/>.</param>
    /// <param name="quotes">False: quotation marks are characters like any other.</param>
    public static RowReader Open(string path, TextReader text, string separator, bool quotes = true) =>
        separator == "space" ? new BlankRowReader(path, text) : new SeparatedRowReader(path, text, s_separators[separator], quotes);

    /// <summary>Goes to the next row; false at the end.</summary>
    /// <exception cref="BadInputException">A row is longer than any row of numbers can be.</exception>
    public abstract bool MoveNext();

    /// <summary>1-based.</summary>
    public abstract int Line { get; }
    public abstract int Count { get; }

    /// <summary>Valid until <see cref="MoveNext"/>.</summary>
    public abstract ReadOnlySpan<char> this[int cell] { get; }

    /// <summary>Where a cell starts in its line, in characters, 1-based.</summary>
    public abstract int Column(int cell);

    /// <summary>A line with nothing on it.</summary>
    public bool IsBlank => Count == 0 || (Count == 1 && this[0].IsWhiteSpace());

    /// <summary>Lines that the row stands on: quoted cells may go over several.</summary>
    public virtual int Lines => 1;

    /// <summary>What makes the row unreadable as a whole; null: nothing.</summary>
    public virtual string? Trouble => null;

    public abstract void Dispose();
}
