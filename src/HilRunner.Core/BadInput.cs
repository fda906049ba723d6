namespace HilRunner.Core;

/// <summary>One thing that is wrong in an input file.</summary>
/// <param name="Line">1-based; 0 when the fault is the file as a whole.</param>
/// <param name="Column">1-based; 0 when the fault is the whole line.</param>
/// <param name="Found">What is there.</param>
/// <param name="Expected">What should be there.</param>
/// <param name="Remedy">What to do; may be empty.</param>
public sealed record Fault(string File, int Line, int Column, string Found, string Expected, string Remedy = "")
{
    public override string ToString()
    {
        string where = Line == 0 ? File : Column == 0 ? $"{File}:{Line}" : $"{File}:{Line}:{Column}";
        return $"{where}: {Found}; expected {Expected}" + (Remedy.Length == 0 ? "" : $"; {Remedy}");
    }
}

/// <summary>An input file cannot be used. Holds every fault that was found, not only the first (exit code 65).</summary>
public sealed class BadInputException(IReadOnlyList<Fault> faults) : Exception(string.Join(Environment.NewLine, faults))
{
    public IReadOnlyList<Fault> Faults { get; } = faults;
}
