namespace HilRunner.Core.Runs;

/// <summary>Faults of one file, the first twenty in full and the rest counted.</summary>
internal sealed class CsvFaults(string file)
{
    public const int Shown = 20;

    private readonly List<Fault> _faults = [];
    private long _more;

    public string File { get; } = file;

    public void Add(int line, int column, string found, string expected, string remedy = "")
    {
        if (_faults.Count < Shown) { _faults.Add(new(File, line, column, found, expected, remedy)); } else { _more++; }
    }

    /// <summary>Hands all of them over and starts afresh.</summary>
    public void MoveTo(CsvFaults others)
    {
        foreach (var fault in _faults) { others.Add(fault.Line, fault.Column, fault.Found, fault.Expected, fault.Remedy); }
        others._more += _more;
        _faults.Clear();
        _more = 0;
    }

    /// <exception cref="BadInputException">There are faults.</exception>
    public void ThrowIfAny()
    {
        if (_faults.Count == 0) { return; }
        if (_more > 0) { _faults.Add(new(File, 0, 0, $"{_more} more faults", "none", "mend those above first")); }
        throw new BadInputException(_faults);
    }
}
