using HilRunner.Reporting.Page;
using HilRunner.Scoring.Trivial;

namespace HilRunner.Reporting.SuitePage;

/// <summary>
/// What devices that hear nothing of what was played would get. Left out where nothing is asked of what is recognised.
/// </summary>
internal static class TrivialSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        if (suite.Trivial is not { } trivial) { return; }
        page.Add($"<section aria-labelledby=\"trivial\"><h2 id=\"trivial\">Devices that hear nothing</h2>\n<div>\n");
        if (TrivialWords.Fooled(trivial) is { } fooled) { page.Add($"<p><strong>{HtmlPage.Upper(fooled)}.</strong></p>\n"); }
        page.Table("What devices would get whose word does not depend on what is played", ["Device", "Outcome", "Why"],
            Rows(trivial), "narrow");
        page.Add($"<p class=\"quiet\">A pass is worth something only where none of these gets one. Cycling is tried with periods from 0.2 s to twice the longest trial, in eight phases each; random devices draw each decision by the reference's shares of time, and one in a hundred may pass by luck. Limits on report latency, resets, silences and the clock are taken as kept.</p>\n</div></section>\n");
    }

    private static IEnumerable<Markup> Rows(TrivialResult trivial)
    {
        foreach (var o in trivial.Outcomes.Where(o => o.Device.Kind == TrivialKind.Constant)) { yield return Row(o.Device.Name,
            o.IsAccepted, Words.Of(o.Verdict), o.Why); }
        foreach (var (kind, name) in TrivialWords.Many)
        {
            int of = trivial.Of(kind), accepted = trivial.Accepted(kind);
            if (of == 0) { continue; }
            var telling = trivial.Outcomes.First(o => o.Device.Kind == kind && o.IsAccepted == accepted > 0);
            yield return Row(name, accepted > 0, $"{accepted} of {of} pass", $"{telling.Device.Name}: {telling.Why}");
        }
    }

    private static Markup Row(string name, bool accepted, string outcome, string why) =>
        Markup.Of($"<tr class=\"{(accepted ? "broken" : "")}\"><th scope=\"row\">{name}</th><td><span class=\"outcome\">{outcome}</span></td><td>{why}</td></tr>");
}
