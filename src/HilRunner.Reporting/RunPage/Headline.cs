using HilRunner.Core.Runs;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;

namespace HilRunner.Reporting.RunPage;

/// <summary>The first screen: may this build go on?</summary>
internal static class Headline
{
    public static void Write(HtmlPage page, StoredRun run, ClassColours colours)
    {
        RunManifest m = run.Manifest;
        string build = m.Build.Label ?? m.Build.Image ?? "not named";
        string repeat = m.Repeat > 1 ? FormattableString.Invariant($", repeat {m.Repeat}") : "";
        page.Add($"""
            <a class="skip" href="#axis-title">Skip to the time axis</a>
            <header>
            <p class="kicker">Run report <span class="dot">·</span> {m.ScenarioName}{repeat} <span class="dot">·</span> build {build} <span class="dot">·</span> {m.RigName} <span class="dot">·</span> {Dates.Of(m.Started)}</p>

            """);
        VerdictStamp.Write(page, run.Score.Verdict, run.Score.Reasons, Answer(run));
        if (run.Score.Delivery is { Outcome: DeliveryOutcome.Delivered } delivery)
        {
            page.Add($"<p class=\"quiet\">Delivery: {DeliveryWords.WithSource(delivery)}.</p>\n");
        }
        Incomplete(page, run);
        if (run.Score.Schema < ScoreJson.Schema)
        {
            page.Add($"<p class=\"notice\"><b>{HtmlPage.Upper(DeliveryWords.Earlier)}.</b> This score was made by definitions {run.Score.Schema}, today's are {ScoreJson.Schema}: it does not say whether everything arrived. Score the run again from its capture (<code>hil score</code>).</p>\n");
        }
        NotesBeside.Write(page, run.Score.Notes);
        page.Add($"<div class=\"first\">\n");
        Figures(page, run, colours);
        page.Add($"<section class=\"next\" aria-labelledby=\"next-title\"><h2 id=\"next-title\">What to do next</h2>\n<ul>\n");
        foreach (Markup step in NextSteps.Of(run)) { page.Add($"<li>{step}</li>\n"); }
        page.Add($"</ul></section>\n</div>\n");
        MadeUp(page, run);
        page.Add($"""
            <nav aria-label="Contents"><a href="#limits">Limits</a> <a href="#axis-title">Time axis</a> <a href="#trials-0">Trials</a> <a href="#agreement-0">Agreement</a> <a href="#latency-0">Latency</a> <a href="#changes-0">Changes</a> <a href="#timing">Timing</a> <a href="#delivery">Delivery</a> <a href="#rig">Rig</a> <a href="#identity">Identity</a> <a href="#reading">How to read this</a></nav>
            </header>

            """);
    }

    private static string Answer(StoredRun run) => run.Score.Verdict switch
    {
        Verdict.Pass when NotShown(run) =>
            "This build may go on, as far as this scenario shows, if everything arrived: that is not shown.",
        Verdict.Fail when NotShown(run) =>
            "This build should not go on, unless something was lost on the link: that nothing was is not shown.",
        Verdict.Fail when run.Score.Delivery is { Outcome: DeliveryOutcome.Delivered, CountOnly: true } =>
            "This build should not go on, unless samples were altered on the link: they were counted, and no check sum guards them.",
        Verdict.Pass => "This build may go on, as far as this scenario shows.",
        Verdict.Fail => "This build should not go on.",
        Verdict.Inconc when run.Score.Health.Faults.Count > 0 || run.Score.Health.Incomplete => "Not known: the rig was at fault, so this run says nothing about the build.",
        Verdict.Inconc => "Not known: the figures leave it open.",
        Verdict.Error => "Not known: the run could not be carried out or judged.",
        _ => "Not known: there was nothing to judge it by.",
    };

    private static bool NotShown(StoredRun run) => run.Score.Delivery?.Outcome == DeliveryOutcome.NotShown;

    private static void Incomplete(HtmlPage page, StoredRun run)
    {
        if (run.Score.Health.Incomplete || !run.Manifest.Complete)
        {
            string cause = run.Manifest.EndCause is { Length: > 0 } c ? $" (it ended with: {c.Replace('_', ' ')})" : "";
            page.Add($"<p class=\"notice\"><b>Incomplete.</b> The run did not reach its end{cause}. Every figure covers the {Figure.At(run.End.Ns)} that were played.</p>\n");
        }
    }

    private static void MadeUp(HtmlPage page, StoredRun run)
    {
        var invented = run.Manifest.Sources.Where(s => s.Info.Invented).Select(s => s.Path).ToList();
        if (invented.Count > 0) { page.Add($"<p class=\"notice\"><b>Made-up data.</b> Invented, not recorded: {string.Join(", ", invented)}. It shows how the device and the rig behave, not how well real motion is recognised.</p>\n"); }
    }

    private static void Figures(HtmlPage page, StoredRun run, ClassColours colours)
    {
        var health = HealthFigures(run).ToList();
        bool rigDecided = run.Score.Verdict == Verdict.Inconc && run.Score.Health.Faults.Count > 0 && health.Count > 0;
        var cards = rigDecided ? health : [.. LimitFigures(run, colours)];
        if (cards.Count == 0) { return; }
        page.Add($"<div class=\"figures\">\n");
        foreach (Markup card in cards.Take(2)) { page.Add(card); }
        page.Add($"</div>\n");
    }

    private static IEnumerable<Markup> LimitFigures(StoredRun run, ClassColours colours)
    {
        var ordered = LimitOrder.DecidingFirst(run.Score);
        // What decided is what came out as the verdict did; a pass was decided by the limit that came nearest to breaking.
        Outcome? deciding = run.Score.Verdict switch { Verdict.Fail => Outcome.Broken, Verdict.Inconc => Outcome.Open, Verdict.Pass => Outcome.Held, _ => null };
        foreach (LimitOutcome l in ordered.Where(l => deciding is null || l.Outcome == deciding))
        {
            Markup measured = HtmlPage.FigureOr(Words.Measured(l), l.Why.Length > 0 ? l.Why : "not defined in this run");
            Markup why = l.Why.Length > 0 && l.Figure is not null ? Markup.Of($" <span class=\"card-why\">{l.Why}</span>") : Markup.Empty;
            yield return Markup.Of($"<div class=\"card\"><p class=\"card-name\">{LimitName.Of(l, colours)}</p><p class=\"card-figure\">{measured}{why}</p><p class=\"card-bound\">needs {Words.Bound(l)} <span class=\"dot\">·</span> {Words.Of(l.Outcome)}</p></div>\n");
        }
    }

    private static IEnumerable<Markup> HealthFigures(StoredRun run)
    {
        RigHealth h = run.Score.Health;
        if (run.Score.Delivery is { Outcome: DeliveryOutcome.NotDelivered } delivery)
        {
            if (Counted("samples that reached the device", delivery.ToDevice) is { } samples) { yield return samples; }
            bool same = delivery.ToDevice.Evidence is [{ Source: "questions" }, ..]
                && delivery.FromDevice.Evidence is [{ Source: "questions" }, ..];
            if (!same && Counted("messages that reached the host",
                delivery.FromDevice) is { } messages) { yield return messages; }
        }
        if (h.Lost > 0) { yield return Card("samples lost", FormattableString.Invariant($"{h.Lost} of {h.Sent}")); }
        if (h.Late > 0) { yield return Card("samples late", FormattableString.Invariant($"{h.Late} of {h.Sent}"), "latest by " + Figure.Nanoseconds(h.LateMaxNs)); }
        if (h.Reconnects > 0) { yield return Card("link lost and found again", FormattableString.Invariant($"{h.Reconnects}×")); }
        if (h.Lost + h.Late + h.Reconnects == 0 && h.ClockUncertaintyNs is { } u) { yield return Card("clock uncertainty", "± " + Figure.Nanoseconds(u)); }
    }

    private static Markup? Counted(string name, DeliveryWay way) =>
        way is { Outcome: DeliveryOutcome.NotDelivered, Evidence: [{ Expected: { } expected, Seen: { } seen } e, ..] }
        ? Card(e.Source == "questions" ? "questions that were answered" : name,
            FormattableString.Invariant($"{seen} of {expected}"), "by " + e.Source) : null;

    private static Markup Card(string name, string figure, string below = "") =>
        Markup.Of($"<div class=\"card\"><p class=\"card-name\">{name}</p><p class=\"card-figure\">{figure}</p><p class=\"card-bound\">{below}</p></div>\n");
}
