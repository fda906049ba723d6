namespace HilRunner.Core.Documents;

/// <summary>Collects the faults of one file; bounded, what is left out is counted.</summary>
internal sealed class FaultList(string file)
{
    /// <summary>Most faults that are listed one by one.</summary>
    public const int Most = 100;
    private readonly List<Fault> _faults = [];
    private int _more;
    private int _known;

    public string File { get; } = file;
    /// <summary>Grows with every value that is refused.</summary>
    public int Count => _faults.Count + _more + _known;

    public void Add(Node at, string found, string expected, string remedy = "")
    {
        if (at is BrokenNode) { _known++; } else { Add(at.Line, at.Column, found, expected, remedy); }
    }

    public void Add(int line, int column, string found, string expected, string remedy = "")
    {
        if (_faults.Count == Most) { _more++; return; }
        _faults.Add(new(File, line, column, found, expected, remedy));
    }

    /// <exception cref="BadInputException">There is at least one fault.</exception>
    public void ThrowIfAny()
    {
        if (_faults.Count == 0) { return; }
        var sorted = _faults.OrderBy(f => f.Line).ThenBy(f => f.Column).ToList();
        if (_more > 0) { sorted.Add(new(File, 0, 0, $"{_more} more faults", "none", "mend those above first")); }
        throw new BadInputException(sorted);
    }
}
