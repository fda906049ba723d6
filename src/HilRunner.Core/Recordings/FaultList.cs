using System.Globalization;

namespace HilRunner.Core.Recordings;

/// <summary>Collects the faults of one file: the first <see cref="Limit"/> in full, the rest as a number.</summary>
internal sealed class FaultList(string file)
{
    public const int Limit = 20;

    private readonly List<Fault> _faults = [];
    private long _more;

    public bool Any => _faults.Count > 0;

    public void Add(int line, int column, string found, string expected, string remedy = "")
    {
        if (_faults.Count == Limit)
        {
            _more++;
            return;
        }
        _faults.Add(new(file, line, column, found, expected, remedy));
    }

    /// <exception cref="BadInputException">There is at least one fault in one of the lists.</exception>
    public static void ThrowIfAny(params ReadOnlySpan<FaultList> lists)
    {
        var all = new List<Fault>();
        foreach (var list in lists) { all.AddRange(list.Listed()); }
        if (all.Count > 0) { throw new BadInputException(all); }
    }

    /// <summary>What a file holds at some place, fit to be printed: in quotes, control characters as ?, cut when long.</summary>
    public static string Show(ReadOnlySpan<char> text)
    {
        const int longest = 40;
        if (text.IsWhiteSpace()) { return "nothing"; }
        var shown = text.Trim();
        bool cut = shown.Length > longest;
        if (cut) { shown = shown[..longest]; }
        var printable = new char[shown.Length];
        for (int i = 0; i < shown.Length; i++) { printable[i] = char.IsControl(shown[i]) || char.IsSurrogate(shown[i]) ? '?' : shown[i]; }
        return $"'{new string(printable)}{(cut ? "…" : "")}'";
    }

    private IEnumerable<Fault> Listed()
    {
        if (_more == 0) { return _faults; }
        string count = _more.ToString(CultureInfo.InvariantCulture);
        return _faults.Append(new(file, 0, 0, $"{count} more fault{(_more == 1 ? "" : "s")} beyond the {Limit} listed", "none", "mend those above first"));
    }
}
