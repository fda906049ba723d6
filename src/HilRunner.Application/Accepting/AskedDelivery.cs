using HilRunner.Core.Acceptance;
using HilRunner.Core.Runs;
using HilRunner.Reporting;
using HilRunner.Scoring;

namespace HilRunner.Application.Accepting;

/// <summary>What an acceptance plan asks of delivery, held against its runs.</summary>
internal static class AskedDelivery
{
    /// <param name="folder">Of the batch: its plan.lock says what was asked.</param>
    /// <param name="runs">All of the batch, with what a suite page shows of each.</param>
    /// <returns>
    /// Why the acceptance is open; null: it is none, its plan accepts that delivery is not shown, or it is shown in every run
    /// that counts.
    /// </returns>
    public static string? WhyOpen(string folder, IReadOnlyList<(StoredRun Stored, SuiteRun Shown)> runs)
    {
        if (!PlanLock.IsIn(folder) || PlanLock.Read(folder).Delivery == DeliveryRule.NotShownIsAccepted) { return null; }
        var counted = runs.Where(r => r.Shown.Counts).Select(r => r.Stored.Score).ToList();
        var unproven = counted.Where(s => s.Delivery is not { Outcome: DeliveryOutcome.NotNeeded or DeliveryOutcome.Delivered })
            .ToList();
        if (unproven.Count == 0) { return null; }
        string what = unproven[0].Delivery is { Outcome: DeliveryOutcome.NotShown } delivery
            ? DeliveryNotes.Unproven(delivery) : "the score does not say whether everything arrived";
        return $"delivery is not shown in {unproven.Count} of {counted.Count} runs that count, and the plan asks for it: {what}; or, where that is enough for this trial, put “delivery: not shown is accepted” into the plan";
    }
}
