using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>What a reader should do after the verdict, drawn from what the run holds.</summary>
internal static class NextSteps
{
    public static IEnumerable<Markup> Of(StoredRun run) => run.Score.Verdict switch
    {
        Verdict.Pass => Pass(run),
        Verdict.Fail => Fail(run),
        Verdict.Inconc when run.Score.Health.Faults.Count > 0 || run.Score.Health.Incomplete => RigFault(run),
        Verdict.Inconc => Open(run),
        Verdict.Error => [Markup.Of($"Read the reason above and the log ({Core.Runs.RunFiles.Log}) beside this report; put right what it names and play the scenario again.")],
        _ => Unjudged(run),
    };

    private static IEnumerable<Markup> Unjudged(StoredRun run)
    {
        if (run.Score.Health.Incomplete) { yield return Markup.Of($"Find out why the run <a href=\"#rig\">ended early</a>, then play the scenario again."); }
        yield return Markup.Of($"Give the scenario <a href=\"#limits\">limits</a>, then score this run again: its capture holds all that is needed (<code>hil score</code>).");
    }

    private static IEnumerable<Markup> Pass(StoredRun run)
    {
        yield return NotShown(run)
            ? Markup.Of(
                $"Let the rig show that everything arrived: <a href=\"#delivery\">what it takes</a>. Nothing else has to be done for this scenario.")
            : Markup.Of($"Nothing has to be done for this scenario.");
        if (Tight(run) is { } tight) { yield return tight; }
        if (Worst(run) is { } worst) { yield return worst; }
    }

    private static IEnumerable<Markup> Fail(StoredRun run)
    {
        if (NotShown(run))
        {
            yield return Markup.Of($"Rule out the link first: <a href=\"#delivery\">nothing shows that everything arrived</a>.");
        }
        string[] deeds = [.. new[] { Deed("reset", run.Score.Device.Resets), Deed("fell silent", run.Score.Device.Silences) }.Where(d => d.Length > 0)];
        if (deeds.Length > 0) { yield return Markup.Of($"The device {string.Join(" and ", deeds)}: start there, <a href=\"#rig\">the list has the times</a>."); }
        if (Worst(run) is { } worst) { yield return worst; }
        if (run.Score.Outputs.Any(o => o.Events.Values.Any(e => e.FalseAlarms > 0))) { yield return Markup.Of($"Look at the <a href=\"#events-0\">false alarms</a>."); }
        int broken = run.Score.Limits.Count(l => l.Outcome == Outcome.Broken);
        if (broken > 1) { yield return Markup.Of($"{broken} limits are broken: <a href=\"#limits\">see them all</a>."); }
        yield return Markup.Of($"Hold this build back until the cause is found.");
    }

    private static IEnumerable<Markup> RigFault(StoredRun run)
    {
        if (PacingWords.Starved(run.Timing, run.Score.Health)) { yield return Markup.Of($"The device took samples more slowly than they were due: <a href=\"#timing\">play slower, or raise its window</a>."); }
        if (run.Score.Delivery?.Outcome == Core.Runs.DeliveryOutcome.NotDelivered)
        {
            yield return Markup.Of($"Find where the link loses what is sent: <a href=\"#delivery\">which way, and how much</a>.");
        }
        yield return Markup.Of($"Put the <a href=\"#rig\">rig</a> right, then play the scenario again.");
        var broken = run.Score.Limits.FirstOrDefault(l => l.Outcome == Outcome.Broken);
        if (broken is not null) { yield return Markup.Of($"“{broken.Text}” came out broken too, but with a faulty rig that proves nothing."); }
        if (run.Incidents.Count > 0) { yield return Markup.Of($"The <a href=\"#axis-title\">time axis</a> shows what the device said when the trouble came."); }
    }

    private static IEnumerable<Markup> Open(StoredRun run)
    {
        foreach (LimitOutcome l in run.Score.Limits.Where(l => l.Outcome == Outcome.Open).Take(2))
        {
            string why = l.Why.Length > 0 ? ": " + l.Why : "";
            yield return Markup.Of($"“{l.Text}” is open{why}.");
        }
        yield return Markup.Of($"Play more independent trials, or settle the limits that cannot be judged.");
    }

    private static bool NotShown(StoredRun run) => run.Score.Delivery?.Outcome == Core.Runs.DeliveryOutcome.NotShown;

    private static Markup? Tight(StoredRun run) =>
        LimitOrder.DecidingFirst(run.Score)
        .FirstOrDefault(l => l.Outcome == Outcome.Held && LimitOrder.Margin(l) < double.MaxValue) is { } tight
            ? Markup.Of($"Keep an eye on “{tight.Text}”: it came nearest to its bound.") : null;

    private static Markup? Worst(StoredRun run)
    {
        int bad = 0;
        string? first = null;
        for (int o = 0; o < run.Score.Outputs.Count; o++)
        {
            var trials = run.Score.Outputs[o].Trials;
            for (int i = 0; i < trials.Count; i++)
            {
                if (trials[i].Recognised || !trials[i].Counted) { continue; }
                bad++;
                first ??= TrialsSection.Id(o, i);
            }
        }
        if (first is null) { return null; }
        return bad == 1
            ? Markup.Of($"Look at <a href=\"#{first}\">the trial that was not recognised</a>.")
            : Markup.Of($"Look at the {bad} trials that were not recognised, <a href=\"#{first}\">worst first</a>.");
    }

    private static string Deed(string what, int n) =>
        n switch { 0 => "", 1 => what + " once", 2 => what + " twice", _ => FormattableString.Invariant($"{what} {n} times") };
}
