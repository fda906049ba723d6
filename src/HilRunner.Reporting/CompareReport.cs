using HilRunner.Core.Scenarios;
using HilRunner.Reporting.ComparePage;
using HilRunner.Reporting.Page;
using HilRunner.Scoring.Comparing;

namespace HilRunner.Reporting;

/// <summary>The page of a comparison: is the candidate worse, in what, and which trials show it.</summary>
public static class CompareReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(CompareResult result, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        var comparison = result.Comparison;
        page.Begin($"{CompareWords.Of(comparison.Overall)}: {result.Candidate}");
        page.Add($"<a class=\"skip\" href=\"#figures\">Skip to the figures</a>\n<header>\n<p class=\"kicker\">Comparison <span class=\"dot\">·</span> baseline {result.Baseline} <span class=\"dot\">·</span> candidate {result.Candidate}</p>\n");
        page.Add($"<h1><span class=\"verdict {Css(comparison.Overall)}\">{CompareWords.Of(comparison.Overall)}</span> <span class=\"reason\">{CompareWords.Answer(result)}</span></h1>\n");
        page.Add($"<p class=\"answer\">{Advice(comparison.Overall)}</p>\n");
        if (CompareWords.RestsOn(result) is { Length: > 0 } rests) { page.Add($"<p class=\"quiet\">It {rests}.</p>\n"); }
        page.Add($"<p class=\"quiet\">{result.BaselineRuns} runs before, {result.CandidateRuns} now{(result.LeftOut > 0 ? $"; {result.LeftOut} more prove nothing (rig at fault, or not finished) and are left out" : "")}. {Paired(comparison)}</p>\n");
        foreach (string beside in CompareWords.Beside(result))
        {
            page.Add($"<p class=\"quiet\">{HtmlPage.Upper(beside)}.</p>\n");
        }
        page.Add($"</header>\n<main id=\"main\">\n");
        Figures(page, comparison, result.SeveralOutputs);
        Changed(page, result);
        Reading(page);
        page.Add($"</main>\n");
        page.End();
    }

    private static void Figures(HtmlPage page, BuildComparison comparison, bool several)
    {
        page.Add($"<section aria-labelledby=\"figures\"><h2 id=\"figures\">Figures</h2>\n<div>\n");
        if (comparison.Differences.Count == 0) { page.Add($"<p>There is nothing to compare.</p>\n</div></section>\n"); return; }
        var ordered = comparison.Differences.OrderBy(d => d.Change switch { Change.Worse => 0, Change.Better => 1, Change.NoneShown => 2, _ => 3 });
        page.Table("Candidate less baseline, what changed first", ["Measure", "Outcome", "Change", "Trials (independent)", "p",
            "A drop shows from", "Note"], ordered.Select(d => Row(d, several)), "limits");
        page.Add($"</div></section>\n");
    }

    private static Markup Row(Difference d, bool several)
    {
        bool device = d.Measure is Measure.DeviceResets or Measure.DeviceSilences or Measure.DeviceClockPpm;
        Markup smallest = d.Smallest is { } s ? Markup.Of($"{Figure.Share(s)}") : HtmlPage.Absent(d.Measure == Measure.Recognised ? "too few trials" : "of shares only");
        Markup trials = device ? HtmlPage.Absent("of the device, not of trials")
            : Markup.Of($"{d.Pairs}{(d.Units > 0 ? $" ({d.Units})" : "")}");
        Markup p = d.P is null || d.Basis == Basis.None ? HtmlPage.Absent(d.P is null ? "not tested" : "too few")
            : Markup.Of($"{CompareWords.P(d)}");
        string steady = CompareWords.Steady(d);
        string note = string.Join("; ", new[] { device ? "" : d.Why, CompareWords.Trials(d), Other(d), steady.Length > 0
            ? $"steady {steady}" : "",
            d.MidP is { } mid ? FormattableString.Invariant($"mid-p {mid:0.000}") : "" }.Where(n => n.Length > 0));
        return Markup.Of($"<tr class=\"{(d.Change == Change.Worse ? "broken" : "")}\"><th scope=\"row\">{CompareWords.Name(d, several)}</th><td><span class=\"outcome\">{CompareWords.Of(d.Change)}</span></td><td>{CompareWords.Shown(d)}</td><td class=\"n\">{trials}</td><td class=\"n\">{p}</td><td class=\"n\">{smallest}</td><td>{note}</td></tr>");
    }

    /// <summary>What the question says on which the word does not rest.</summary>
    private static string Other(Difference d) => d.Basis switch
    {
        Basis.TheseRecordings when d.Beyond is { IsAble: true } beyond && d.P < 1 =>
            $"{CompareWords.Of(Basis.MotionLikeThis)}: p {CompareWords.P(beyond.P)}",
        Basis.MotionLikeThis when d.Here is { IsAble: true } here =>
            $"{CompareWords.Of(Basis.MotionLikeThis)}; {CompareWords.Of(Basis.TheseRecordings)}: p {CompareWords.P(here.P)}",
        Basis.MotionLikeThis => CompareWords.Of(Basis.MotionLikeThis),
        _ => "",
    };

    private static void Changed(HtmlPage page, CompareResult result)
    {
        page.Add($"<section class=\"wide\" aria-labelledby=\"changed\"><h2 id=\"changed\">Trials that changed</h2>\n<div>\n");
        if (result.Changed.Count == 0) { page.Add($"<p>None.</p>\n</div></section>\n"); return; }
        int number = 1;
        foreach (var changed in result.Changed)
        {
            var pair = changed.Pair;
            page.Add($"<h3>{pair.Scenario}: {pair.Class} at {Figure.At(pair.StartNs)}</h3>\n<p>{CompareWords.Became(pair)} <a href=\"{changed.BaselineReport}\">baseline</a> <span class=\"dot\">·</span> <a href=\"{changed.CandidateReport}\">candidate</a></p>\n");
            page.Add(ChangedTrialSvg.Draw(changed, number++));
        }
        if (result.ChangedMore > 0) { page.Add($"<p class=\"quiet\">and {result.ChangedMore} more</p>\n"); }
        page.Add($"</div></section>\n");
    }

    private static string Advice(Change change) => change switch
    {
        Change.Worse => "The candidate should not go on before this is understood.",
        Change.Better => "The candidate does better, and nothing shows that it does worse.",
        Change.TooFew => "Not known: more runs of each scenario are needed, or more independent trials.",
        _ => "Nothing shows that the candidate does worse.",
    };

    private static string Paired(BuildComparison comparison) => !comparison.Paired ? "The two did not play the same: nothing is paired, and only large changes show."
        : comparison.NotPaired.Count > 0 ? $"Not paired, since only one of them played it or it is not the same any more: {string.Join(", ", comparison.NotPaired.Take(5))}{(comparison.NotPaired.Count > 5 ? " …" : "")}."
        : $"{comparison.Pairs.Count} trials are paired.";

    private static string Css(Change change) => change switch { Change.Worse => "is-fail", Change.TooFew => "is-inconc", _ => "is-pass" };

    private static void Reading(HtmlPage page) => page.Add($"""
        <section aria-labelledby="reading"><h2 id="reading">How to read this</h2>
        <div><dl>
        <dt>Worse, better</dt><dd>The difference is more than chance explains, at 5 % for each measure, over its classes together (Holm 1979), two-sided.</dd>
        <dt>These recordings</dt><dd>Did the build change on what was played, beyond how it varies from run to run? Whole runs are exchanged between the builds, scenario by scenario (Fisher 1935, Pitman 1937). It needs several runs of each scenario, or many scenarios.</dd>
        <dt>Motion like this</dt><dd>Would it be otherwise on other motion of this kind? Independent trials are held against each other, over equally many plays of each (shares: sign flips, Fisher 1935; latencies: Wilcoxon 1945). It takes it that they err independently; where they share a run, a state of the device in that run can look like a change.</dd>
        <dt>p</dt><dd>Of the question that the word rests on: the first where there are runs enough to show a change, else the second. The note says what the other comes to.</dd>
        <dt>Steady</dt><dd>Trials that came out the same in each of their plays on one build, of those played more than once.</dd>
        <dt>Lost, gained</dt><dd>Trials recognised less often than before, more often. All plays of a trial count.</dd>
        <dt>Shift</dt><dd>Median of the paired differences (Hodges and Lehmann 1963) with its 95 % interval.</dd>
        <dt>Resets, silences</dt><dd>Exchanged run for run; where there are too few runs, by how all of them fall on each build's share of the time (Przyborowski and Wilenski 1940).</dd>
        <dt>No change shown</dt><dd>Is no proof that there is none: the smallest drop that could have been shown stands beside it.</dd>
        </dl></div></section>

        """);
}
