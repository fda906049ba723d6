namespace HilRunner.Core.Signals;

/// <summary>Faults of one step or transform.</summary>
/// <param name="place">As a person counts: the stimulus of a scenario, its third step.</param>
internal sealed class StepFaults(string place)
{
    private readonly List<Fault> _faults = [];

    public bool Any => _faults.Count > 0;
    public IReadOnlyList<Fault> Faults => _faults;

    public void Add(string found, string expected, string remedy = "") => _faults.Add(new(place, 0, 0, found, expected, remedy));

    /// <summary>Faults of the step's own files.</summary>
    public void Add(BadInputException other) => _faults.AddRange(other.Faults);
}
