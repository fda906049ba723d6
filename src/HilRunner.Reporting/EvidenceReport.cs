using HilRunner.Core.Acceptance;
using HilRunner.Reporting.EvidencePage;
using HilRunner.Reporting.Page;
using HilRunner.Scoring;
using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting;

/// <summary>
/// The evidence of an acceptance: one page that stands on its own and prints, with what ISO/IEC 17025:2017, 7.8.2.1 and 7.8.6, ask of a report as far as it applies to a tool.
/// </summary>
public static class EvidenceReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(Evidence evidence, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(evidence);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        var result = evidence.Result;
        page.Begin($"Acceptance test report: {evidence.Plan.Name}, {AcceptWords.Of(result.Verdict)}");
        page.Add($"<a class=\"skip\" href=\"#claims\">Skip to the claims</a>\n<header>\n<p class=\"kicker\">Acceptance test report <span class=\"dot\">·</span> {evidence.Plan.Name} <span class=\"dot\">·</span> {evidence.Id}</p>\n");
        page.Add($"<h1><span class=\"verdict {Css(result.Verdict)}\">{AcceptWords.Of(result.Verdict)}</span> <span class=\"reason\">{Answer(result)}</span></h1>\n");
        page.Add($"<p class=\"answer\">{Sure(result)}</p>\n");
        if (result.Runs.Any(r => r.Invented)) { page.Add($"<p class=\"notice\"><b>Made-up data.</b> The motion was invented: this shows how an acceptance goes, not what a device recognises.</p>\n"); }
        Attempts(page, evidence.Earlier);
        Delivery(page, evidence);
        if (evidence.Deviations.Count > 0) { page.Add($"<p class=\"notice\"><b>Deviations from the plan:</b> {evidence.Deviations.Count}, <a href=\"#deviations\">listed below</a>.</p>\n"); }
        page.Add($"</header>\n<main id=\"main\">\n");
        Claims(page, result.PooledLimits, evidence.Plan.Delivery);
        Item(page, evidence);
        Method(page);
        RunTable(page, evidence);
        Trials(page, evidence);
        Deviations(page, evidence.Deviations);
        Files(page, evidence);
        Signatures(page, evidence);
        page.Add($"</main>\n");
        page.End();
    }

    private static string Css(Verdict verdict) => verdict switch { Verdict.Pass => "is-pass", Verdict.Fail => "is-fail", Verdict.Error => "is-error", _ => "is-inconc" };

    private static string Answer(SuiteResult result) => LimitOrder.DecidingFirst(result.PooledLimits) is [{ } deciding, ..] && result.Verdict != Verdict.Error
        ? result.Verdict == Verdict.Pass ? $"every claim is shown; the narrowest: {deciding.Judged.Text}, {deciding.Judged.Why}" : result.Reasons[0]
        : result.Reasons[0];

    /// <summary>How far the statement reaches: the sources, and no farther.</summary>
    private static string Sure(SuiteResult result)
    {
        int sources = result.PooledLimits.Select(p => p.Sources).DefaultIfEmpty().Max(), units = result.PooledLimits.Select(p => p.Units).DefaultIfEmpty().Max();
        string rest = "It relates only to the device, the build and the recordings named below.";
        return sources == 0
            ? $"It rests on {units} labelled stretches whose source is not named: it says nothing of people or machines that were not recorded. {rest}"
            : $"It rests on {sources} {(sources == 1 ? "source" : "sources")} (people, machines, parcels), however often each was recorded or played, and says no more than so few can. {rest}";
    }

    /// <summary>Whoever tries until it is accepted has not shown what the plan claims.</summary>
    private static void Attempts(HtmlPage page, IReadOnlyList<EarlierAttempt>? earlier)
    {
        if (earlier is null) { return; }
        if (earlier.Count == 0)
        {
            page.Add($"<p class=\"quiet\">No earlier attempt at this plan on this image was found where its runs are kept, nor in the history.</p>\n");
            return;
        }
        page.Add($"<p class=\"notice\"><b>{HtmlPage.Upper(AcceptWords.Attempt(earlier))}.</b> The confidence of a claim is that of a single attempt.</p>\n<ul>\n");
        foreach (var a in earlier) { page.Add($"<li>{Dates.Of(a.Started)}: {a.Outcome} ({a.Where})</li>\n"); }
        page.Add($"</ul>\n");
    }

    /// <summary>Whether everything arrived, and what the plan asked of that.</summary>
    private static void Delivery(HtmlPage page, Evidence evidence)
    {
        var result = evidence.Result;
        int runs = result.Runs.Count(r => r.Counts);
        string shown = result.DeliveryNotShown == 0 ? "It was not needed: delivery is shown in every run that counts"
            : $"In {result.DeliveryNotShown} of {runs} runs that count nothing proves that every sample reached the device and every message of it the host, and nothing disproves it";
        if (evidence.Plan.Delivery == DeliveryRule.NotShownIsAccepted)
        {
            page.Add($"<p class=\"notice\"><b>Delivery: not shown is accepted,</b> as the plan says. {shown}.</p>\n");
        }
        NotesBeside.Write(page, DeliveryWords.Notes(result));
    }

    private static void Claims(HtmlPage page, IReadOnlyList<PooledOutcome> claims, DeliveryRule rule)
    {
        string delivery = rule == DeliveryRule.NotShownIsAccepted
            ? ", delivery not disproved" : ", and delivery shown in every run that counts";
        page.Add($"<section aria-labelledby=\"claims\"><h2 id=\"claims\">Claims</h2>\n<div>\n");
        foreach (var p in LimitOrder.DecidingFirst(claims))
        {
            string counted = p.Heard is { } heard
                ? FormattableString.Invariant($"{heard.AllAlarms} in {AlarmJudge.Hours(heard.AllNs)} of all plays; counted is {p.Rule}")
                : $"{p.Plays} plays in all{(p.PlaysRecognised is { } k ? FormattableString.Invariant($", {k} of them recognised") : "")}; an independent trial is {p.Rule}";
            page.Add($"<h3>{p.Judged.Text}: {Words.Of(p.Judged.Outcome)}</h3>\n<p>{p.Judged.Why}. {counted}.</p>\n");
            page.Add(p.Course is { } course ? CourseSvg.Draw(course) : ClaimSvg.Draw(p));
        }
        if (claims.Any(p => p.Course is not null))
        {
            page.Add($"<p class=\"quiet\">Decision rule, fixed before the first run: each claim is tested trial by trial (Wald, Sequential Analysis, 1947), its lines drawn so that both risks hold exactly, the cut-off included. Accepted when the failures so far lie on the lower line or below it, refused on the upper one or above; at the cut-off, which the recordings set, by the line between. Runs come in an order drawn by the plan's seed. An independent trial is judged by the first run that has it, as its worst play there; one whose timing straddles a bound is a failure for accepting and none for refusing (JCGM 106:2012). The plan ends as soon as every claim is accepted or one is refused. Accepted: every claim accepted and every limit of every scenario that was played held{delivery}.</p>\n</div></section>\n");
            return;
        }
        page.Add($"<p class=\"quiet\">Decision rule, fixed before the first run: a claim is shown when the exact one-sided bound at its confidence (Clopper and Pearson 1934; order statistics for quantiles, Wilks 1941; for false alarms an hour that of a Poisson count over the time heard, Garwood 1936) lies inside it, refuted when the opposite bound lies outside, else open. Each independent trial counts as its worst play for the claim and as its best against it. A trial whose timing straddles a bound counts against what is to be shown (JCGM 106:2012). Accepted: every claim shown and every limit of every scenario held{delivery}.</p>\n</div></section>\n");
    }

    private static void Item(HtmlPage page, Evidence evidence)
    {
        var result = evidence.Result;
        string said = string.Join("; ", evidence.Runs.Select(r => string.Join(" ", r.Manifest.Identity.Select(i => $"{i.Key} {i.Value}"))).Where(s => s.Length > 0).Distinct());
        page.Add($"<section aria-labelledby=\"item\"><h2 id=\"item\">What, who, when</h2>\n<div>\n");
        page.Table("As the plan and the runs say it", ["What", "As said"],
        [
            Fact("item", evidence.Plan.Item, "not said in the plan"), Fact("build", result.Build.Label, "not named"), Fact("image", result.Build.Sha256 is { } hash ? $"{result.Build.Image}, SHA-256 {hash}" : null, "none given"),
            Fact("the device of itself", said.Length > 0 ? said : null, "it was not asked"), Fact("customer", evidence.Plan.Customer, "not said in the plan"),
            Fact("laboratory", evidence.Plan.Laboratory, "not said in the plan"), Fact("rig", string.Join(", ", evidence.Runs.Select(r => $"{r.Manifest.RigName} on {r.Manifest.Link}").Distinct()), "no run was started"),
            Fact("machine", result.Host, "not known"), Fact("tool", result.ToolVersion, "not known"), Fact("begun", Dates.Of(result.Started), ""), Fact("ended", result.Ended is { } ended ? Dates.Of(ended) : null, "it did not reach its end"),
            Fact("plan, hash of all that was fixed", evidence.PlanSha256, ""),
        ], "identity");
        page.Add($"</div></section>\n");
    }

    private static Markup Fact(string name, string? value, string absent) =>
        Markup.Of($"<tr><th scope=\"row\">{name}</th><td>{(string.IsNullOrEmpty(value) ? HtmlPage.Absent(absent) : Markup.Of($"{value}"))}</td></tr>");

    private static void Method(HtmlPage page) => page.Add($"""
        <section aria-labelledby="method"><h2 id="method">Method</h2>
        <div><p>Recorded motion is played into the device over its own link; what the device says is captured byte by byte with times and scored against the recordings' labels. A trial is one labelled interval. It is recognised when the device reports its class, within the time that the scenario allows. Definitions of every figure: the tool's scoring room, in the version named above. The sampling plan is the list of recordings; every run that was started is listed, whatever came of it.</p></div></section>

        """);

    private static void RunTable(HtmlPage page, Evidence evidence)
    {
        page.Add($"<section class=\"long\" aria-labelledby=\"runs\"><h2 id=\"runs\">Runs</h2>\n<div>\n");
        page.Table("Every run that was started, in order",
            ["Scenario", "Begun", "Verdict", "Counted", "Delivery", "Reason"], evidence.Result.Runs.Select(r =>
            Markup.Of($"<tr><th scope=\"row\">{SuitePage.RunsSection.Link(r)}</th><td>{(r.Started is { } at ? Markup.Of($"{Dates.Of(at)}") : HtmlPage.Absent("not known"))}</td><td>{Words.Of(r.Verdict)}</td><td>{(r.Counts ? "yes" : r.PlayedAgain ? "no, played again" : "no")}</td><td>{(r.Delivery is { } d ? Markup.Of($"{Core.Runs.Delivery.Word(d)}") : HtmlPage.Absent(DeliveryWords.Earlier))}</td><td>{(r.Reasons.Count > 0 ? r.Reasons[0] : "")}</td></tr>")), "runs");
        page.Add($"</div></section>\n");
    }

    private static void Trials(HtmlPage page, Evidence evidence)
    {
        page.Add($"<section class=\"long\" aria-labelledby=\"trials\"><h2 id=\"trials\">Trials</h2>\n<div>\n");
        page.Table("Every trial of every run", ["Scenario", "Class", "Start", "Source", "Recognised", "Counted", "Reaction", "Uncertainty"],
            evidence.Result.Runs.SelectMany(r => r.Played.Select(t => Row(r, t))));
        page.Add($"</div></section>\n");
    }

    private static Markup Row(SuiteRun run, PlayedTrial played)
    {
        var t = played.Score;
        Markup source = played.Motion.Source is { } named ? Markup.Of($"{named}") : HtmlPage.Absent("the side file names none");
        Markup reaction = t.ReactionNs is { } ns && !t.Already ? Markup.Of($"{Figure.Nanoseconds(ns)}") : HtmlPage.Absent(t.Already ? "already in its class" : "missed");
        Markup unsure = t.UncertaintyNs is { } u ? Markup.Of($"{(u == 0 ? "exact" : Figure.Uncertainty(u / 1e9))}") : HtmlPage.Absent(t.Missed ? "missed" : t.Already ? "already in its class" : "not proven");
        string counted = run.Counts && t.Counted ? "yes" : run.Counts ? "no, too short" : "no, its run is not";
        return Markup.Of($"<tr><th scope=\"row\">{run.Scenario}</th><td>{t.Class}</td><td class=\"n\">{Figure.At(t.StartNs)}</td><td>{source}</td><td>{(t.Recognised ? "yes" : "no")}</td><td>{counted}</td><td class=\"n\">{reaction}</td><td class=\"n\">{unsure}</td></tr>");
    }

    private static void Deviations(HtmlPage page, IReadOnlyList<string> deviations)
    {
        page.Add($"<section aria-labelledby=\"deviations\"><h2 id=\"deviations\">Deviations</h2>\n<div>\n");
        if (deviations.Count == 0) { page.Add($"<p>None: all was played as planned.</p>\n"); }
        else
        {
            page.Add($"<ul>");
            foreach (string deviation in deviations) { page.Add($"<li>{deviation}</li>"); }
            page.Add($"</ul>\n");
        }
        page.Add($"</div></section>\n");
    }

    private static void Files(HtmlPage page, Evidence evidence)
    {
        page.Add($"<section class=\"long\" aria-labelledby=\"files\"><h2 id=\"files\">Files</h2>\n<div>\n");
        page.Table("What was used and what was made, with SHA-256", ["Kind", "File", "SHA-256"], evidence.Files.Select(f =>
            Markup.Of($"<tr><th scope=\"row\">{f.Kind}</th><td>{f.Path}</td><td class=\"hash\">{(f.Sha256.Length > 0 ? Markup.Of($"{f.Sha256}") : HtmlPage.Absent("there is no such file"))}</td></tr>")));
        page.Add($"<h3>The plan</h3>\n<pre class=\"hash\">{evidence.PlanText}</pre>\n</div></section>\n");
    }

    private static void Signatures(HtmlPage page, Evidence evidence)
    {
        page.Add($"<section aria-labelledby=\"signed\"><h2 id=\"signed\">Signed</h2>\n<div><p>The results relate only to the items tested. This report, {evidence.Id}, shall not be copied except in full.</p>\n");
        page.Table("By hand", ["Role", "Name", "Date", "Signature"], new[] { "tested by", "reviewed by", "released by" }.Select(role => Markup.Of($"<tr><th scope=\"row\">{role}</th><td></td><td></td><td></td></tr>")), "signed");
        page.Add($"<p class=\"quiet\">End of {evidence.Id}.</p></div></section>\n");
    }
}
