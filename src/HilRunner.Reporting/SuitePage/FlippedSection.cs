using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.SuitePage;

/// <summary>Trials that came out one way and the other on the same image. Left out where there are none.</summary>
internal static class FlippedSection
{
    public static void Write(HtmlPage page, SuiteResult suite)
    {
        var flipped = FlippedTrial.Of(suite.Runs);
        if (flipped.Count == 0) { return; }
        page.Add($"<section aria-labelledby=\"flipped\"><h2 id=\"flipped\">Trials that flip</h2>\n<div>\n");
        page.Table("The same motion on the same image, recognised one time and not another", ["Scenario", "Class", "Start", "Recognised", "Runs"], flipped.Select(Row), "narrow");
        page.Add($"<p class=\"quiet\">A trial near a threshold flips with the noise. It says little of a build: look at it before you call the build worse.</p>\n</div></section>\n");
    }

    private static Markup Row(FlippedTrial t)
    {
        Markup runs = t.Runs.Select(RunsSection.Link).Aggregate((all, one) => Markup.Of($"{all}, {one}"));
        return Markup.Of($"<tr><th scope=\"row\">{t.Scenario}</th><td>{t.First.Score.Class}</td><td class=\"n\">{Figure.At(t.First.Score.StartNs)}</td><td class=\"n\">{Figure.Of(t.Recognised, t.Plays)}</td><td>{runs}</td></tr>");
    }
}
