using HilRunner.Core.Files;

namespace HilRunner.Core.Documents;

/// <summary>Faults of a YAML document, placed by its nodes.</summary>
internal sealed class DocumentFaults(string file) : FaultList(file, Most)
{
    /// <summary>As many as a person reads; the rest is a number.</summary>
    public const int Most = 25;

    private int _known;

    /// <summary>Grows with every value that is refused, also where the fault was told before.</summary>
    public override long Count => base.Count + _known;

    public void Add(Node at, string found, string expected, string remedy = "")
    {
        if (at is BrokenNode) { _known++; } else { Add(at.Line, at.Column, found, expected, remedy); }
    }
}
