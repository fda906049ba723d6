using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Recognised k of n per class: independent trials, all plays, and whether repeats agree.</summary>
internal static class ClassesSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        var counts = ClassCount.Of(suite.Runs);
        page.Add($"<section aria-labelledby=\"classes\"><h2 id=\"classes\">Classes</h2>\n<div>\n");
        if (counts.Count == 0) { page.Add($"<p>No run of this suite holds a trial that counts.</p>\n</div></section>\n"); return; }
        bool several = counts.Select(c => c.Output).Distinct().Count() > 1;
        string[] heads = ["Class", "Independent trials recognised", "All plays recognised", "Repeats: same outcome every time"];
        page.Table("Recognised trials per class", several ? ["Output", .. heads] : heads, counts.OrderBy(c => c.Units == 0 ? 2 : (double)c.UnitsRecognised / c.Units).Select(c => Row(c, several)), "narrow");
        page.Add($"<p class=\"quiet\">An independent trial is all that was played of one source where the recordings' side files name it (who, or which machine), else of one labelled stretch; it counts as recognised when every play of it was. Repeats and variations are plays of the same trial: they show repeatability, and prove nothing more about recognition. Runs with a faulty rig, incomplete ones, errors, and runs that were played again are left out.</p>\n</div></section>\n");
    }

    private static Markup Row(ClassCount c, bool several)
    {
        Markup output = several ? Markup.Of($"<td>{c.Output}</td>") : Markup.Empty;
        Markup recognised = c.Units == 0 ? HtmlPage.Absent("every trial was too short to count") : Markup.Of($"{Figure.Of(c.UnitsRecognised, c.Units)}");
        Markup steady = c.Repeated == 0 ? HtmlPage.Absent("no trial was repeated") : Markup.Of($"{Figure.Of(c.Steady, c.Repeated)} trials");
        return Markup.Of($"<tr>{output}<th scope=\"row\">{c.Class}</th><td class=\"n\">{recognised}</td><td class=\"n\">{(c.Plays == 0 ? HtmlPage.Absent("every trial was too short to count") : Markup.Of($"{Figure.Of(c.PlaysRecognised, c.Plays)}"))}</td><td class=\"n\">{steady}</td></tr>");
    }
}
