using System.Globalization;
using System.Text.Json;

namespace HilRunner.Delivery.Tests;

/// <summary>A reaction that the score states, beside the true one by the device's own log.</summary>
/// <param name="TimedBySample">
/// By sample number: exact. Else by the clock: from when the device felt the onset's sample until it decided.
/// </param>
/// <param name="HeldUpS">
/// What was added to the way of the onset's sample, by the logs of link and device: by this machine, and by a link that delays
/// single lines. A stated reaction holds the way of one sample, and no question sees that of this one; stalls are seen.
/// </param>
internal sealed record Reaction(
    Played Run, string Class, bool TimedBySample, double StatedS, double HalfWidthS, double TrueS, double HeldUpS)
{
    private const double RateHz = 100;

    /// <summary>
    /// For what the logs do not hold: the host's own way from its clock to the write, and the link's from the read to the log.
    /// </summary>
    private const double RestS = 0.002;

    /// <summary>Where the whole machine stood still, nothing on it can tell for how long a sample was on its way.</summary>
    private const double StandstillS = 0.02;

    private bool StoodStill { get; init; }

    public bool IsJudged => TimedBySample || !StoodStill;

    /// <summary>By how much the true one lies outside; a nanosecond is for the rounding of decimals.</summary>
    public double BeyondS => Math.Abs(StatedS - TrueS) - HalfWidthS - 1e-9;

    public bool Outside => IsJudged && BeyondS > (TimedBySample ? 0 : HeldUpS + RestS);

    /// <summary>
    /// Of the trials of one run in which nothing was lost on either way: else it is not known which decision the score holds.
    /// Trials whose half-width the score does not give are left out.
    /// </summary>
    public static IEnumerable<Reaction> Of(Played run)
    {
        var truth = run.Truth;
        if (truth.Felt.Count != truth.Sent || !truth.SameCounts || truth.Said != run.Heard || truth.DecisionsHit) { yield break; }
        foreach (var trial in run.Score.GetProperty("trials").EnumerateArray())
        {
            if (Number(trial, "reaction_s") is not { } stated || Number(trial, "uncertainty_s") is not { } halfWidth)
            {
                continue;
            }
            string name = trial.GetProperty("class").GetString()!;
            int onset = (int)Math.Ceiling((trial.GetProperty("start_s").GetDouble() * RateHz) - 1e-6);
            if (trial.GetProperty("already").GetBoolean()
                || truth.Decided.FirstOrDefault(d => d.Index >= onset && d.Class == name) is not { } decided)
            {
                continue;
            }
            bool bySample = run.Case.Dialect.Json["n"] is not null;
            double real = bySample ? (decided.Index - onset) / RateHz : (decided.AtNs - truth.Felt[onset].AtNs) / 1e9;
            yield return new(run, name, bySample, stated, halfWidth, real, truth.HeldUpS(onset, run.Case.Kind == "delay_lines"))
            {
                StoodStill = truth.HeldUpS(onset, withPlan: false) >= StandstillS,
            };
        }
    }

    public override string ToString() => string.Create(CultureInfo.InvariantCulture,
        $"{Class}: stated {StatedS:0.0000} s ± {HalfWidthS:0.0000} s, true {TrueS:0.0000} s: outside by {BeyondS:0.0000} s, held up {HeldUpS:0.0000} s; {Run.Case} ({Run.Folder})");

    private static double? Number(JsonElement trial, string name) =>
        trial.GetProperty(name) is { ValueKind: JsonValueKind.Number } value ? value.GetDouble() : null;
}
