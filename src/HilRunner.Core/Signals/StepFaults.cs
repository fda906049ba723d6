namespace HilRunner.Core.Signals;

/// <summary>Faults of one step, named as a person counts: the stimulus of a scenario, its third step.</summary>
internal sealed class StepFaults(string scenario, int index)
{
    private readonly List<Fault> _faults = [];

    public bool Any => _faults.Count > 0;
    public IReadOnlyList<Fault> Faults => _faults;

    public void Add(string found, string expected, string remedy = "") =>
        _faults.Add(new($"scenario '{scenario}', stimulus step {index + 1}", 0, 0, found, expected, remedy));

    /// <summary>Faults of the step's own files.</summary>
    public void Add(BadInputException other) => _faults.AddRange(other.Faults);
}
