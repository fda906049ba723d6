using HilRunner.Scoring;

namespace HilRunner.Reporting.Page;

/// <summary>A verdict as the first thing of a page: a word with its reason, told apart by shape, never by colour alone.</summary>
internal static class VerdictStamp
{
    private const int MostReasons = 6;

    public static void Write(HtmlPage page, Verdict verdict, IReadOnlyList<string> reasons, string answer)
    {
        string reason = reasons.Count > 0 ? reasons[0] : Words.WithoutReason(verdict);
        page.Add($"<h1>{Stamp(verdict)} <span class=\"reason\">{reason}</span></h1>\n<p class=\"answer\">{answer}</p>\n");
        if (reasons.Count < 2) { return; }
        page.Add($"<ul class=\"more\">");
        foreach (string other in reasons.Skip(1).Take(MostReasons)) { page.Add($"<li>{other}</li>"); }
        page.Add($"</ul>\n");
        if (reasons.Count - 1 - MostReasons is > 0 and var left) { page.Add($"<p class=\"quiet\">and {left} more, in the tables below</p>\n"); }
    }

    public static Markup Stamp(Verdict verdict) => Markup.Of($"<span class=\"verdict {Css(verdict)}\">{Words.Of(verdict)}</span>");

    private static string Css(Verdict verdict) => verdict switch
    {
        Verdict.Pass => "is-pass",
        Verdict.Fail => "is-fail",
        Verdict.Inconc => "is-inconc",
        Verdict.Error => "is-error",
        _ => "is-none",
    };
}
