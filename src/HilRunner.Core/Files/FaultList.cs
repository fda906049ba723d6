namespace HilRunner.Core.Files;

/// <summary>Collects the faults of one input file: the first so many in full, the rest as a number.</summary>
internal class FaultList(string file, int most = FaultList.UsualMost)
{
    /// <summary>Tables repeat their faults: twenty show the pattern.</summary>
    public const int UsualMost = 20;

    private readonly List<Fault> _faults = [];
    private long _more;

    public string File { get; } = file;
    public bool Any => _faults.Count > 0;
    /// <summary>Further faults are only counted.</summary>
    public bool IsFull => _faults.Count == most;
    public virtual long Count => _faults.Count + _more;

    /// <summary>Those kept in full, in the order in which they were added.</summary>
    public IReadOnlyList<Fault> First => [.. _faults];

    public void Add(int line, int column, string found, string expected, string remedy = "")
    {
        if (_faults.Count == most) { _more++; }
        else { _faults.Add(new(File, line, column, found, expected, remedy)); }
    }

    /// <summary>Hands all of them over and starts afresh.</summary>
    public void MoveTo(FaultList others)
    {
        foreach (var fault in _faults) { others.Add(fault.Line, fault.Column, fault.Found, fault.Expected, fault.Remedy); }
        others._more += _more;
        _faults.Clear();
        _more = 0;
    }

    /// <exception cref="BadInputException">There is at least one fault; they come in the order of the file.</exception>
    public void ThrowIfAny() => ThrowIfAny(this);

    /// <exception cref="BadInputException">There is at least one fault in one of the lists.</exception>
    public static void ThrowIfAny(params ReadOnlySpan<FaultList> lists)
    {
        var all = new List<Fault>();
        foreach (var list in lists)
        {
            all.AddRange(list._faults.OrderBy(f => f.Line).ThenBy(f => f.Column));
            if (list._more > 0)
            {
                string count = FormattableString.Invariant($"{list._more} more fault{(list._more == 1 ? "" : "s")} beyond the {list._faults.Count} listed");
                all.Add(new(list.File, 0, 0, count, "none", "mend those above first"));
            }
        }
        if (all.Count > 0) { throw new BadInputException(all); }
    }
}
