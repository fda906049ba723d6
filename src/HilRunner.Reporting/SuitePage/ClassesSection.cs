using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Recognised k of n per class, over distinct recordings; repeats apart, as repeatability.</summary>
internal static class ClassesSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        var counts = ClassCount.Of(suite.Runs);
        page.Add($"<section aria-labelledby=\"classes\"><h2 id=\"classes\">Classes</h2>\n<div>\n");
        if (counts.Count == 0) { page.Add($"<p>No run of this suite holds a trial that counts.</p>\n</div></section>\n"); return; }
        bool several = counts.Select(c => c.Output).Distinct().Count() > 1;
        string[] heads = ["Class", "Recognised", "Distinct recordings", "Repeats: same outcome every time"];
        page.Table("Recognised trials per class, each distinct recording counted once", several ? ["Output", .. heads] : heads, counts.OrderBy(c => c.Counted == 0 ? 2 : (double)c.Recognised / c.Counted).Select(c => Row(c, several)), "narrow");
        page.Add($"<p class=\"quiet\">Recognised counts the trials of the first usable run of each distinct set of recordings. Further runs of the same recordings, repeated or varied, are not independent trials: repeats show repeatability, variations the region above. Runs with a faulty rig, errors, and runs that were played again are left out.</p>\n</div></section>\n");
    }

    private static Markup Row(ClassCount c, bool several)
    {
        Markup output = several ? Markup.Of($"<td>{c.Output}</td>") : Markup.Empty;
        Markup recognised = c.Counted == 0 ? HtmlPage.Absent("every trial was too short to count") : Markup.Of($"{Figure.Of(c.Recognised, c.Counted)}");
        Markup steady = c.Repeated == 0 ? HtmlPage.Absent("no trial was repeated") : Markup.Of($"{Figure.Of(c.Steady, c.Repeated)} trials");
        return Markup.Of($"<tr>{output}<th scope=\"row\">{c.Class}</th><td class=\"n\">{recognised}</td><td class=\"n\">{c.Motions}</td><td class=\"n\">{steady}</td></tr>");
    }
}
