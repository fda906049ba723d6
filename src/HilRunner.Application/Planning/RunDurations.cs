using HilRunner.History.Reading;

namespace HilRunner.Application.Planning;

/// <summary>How long runs took at one speed: the median of the newest, on the same rig where it has played the scenario, else on any.</summary>
internal sealed class RunDurations
{
    private const int Newest = 10;

    private readonly ILookup<(string Scenario, string Rig), RunDuration> _byRig;
    private readonly ILookup<string, RunDuration> _byScenario;

    /// <param name="earlier">Newest first.</param>
    public RunDurations(IReadOnlyList<RunDuration> earlier, string speed)
    {
        var alike = earlier.Where(d => d.Speed == speed).ToList();
        _byRig = alike.ToLookup(d => (d.Scenario, d.Rig));
        _byScenario = alike.ToLookup(d => d.Scenario);
    }

    /// <summary>Null: it was never played at this speed.</summary>
    public TimeSpan? Of(string scenario, string rig)
    {
        var runs = _byRig[(scenario, rig)];
        var took = (runs.Any() ? runs : _byScenario[scenario]).Take(Newest).Select(d => d.TookMs).Order().ToList();
        return took.Count == 0 ? null : TimeSpan.FromMilliseconds((took[(took.Count - 1) / 2] + took[took.Count / 2]) / 2.0);
    }
}
