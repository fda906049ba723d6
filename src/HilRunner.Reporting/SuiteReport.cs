using HilRunner.Reporting.Page;
using HilRunner.Reporting.Regions;
using HilRunner.Reporting.SuitePage;

namespace HilRunner.Reporting;

/// <summary>The report of a suite: may the build go on, what changed since the build before, then its runs, worst first, and what they say per class.</summary>
public static class SuiteReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(SuiteResult suite, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(suite);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        page.Begin($"{Words.Of(suite.Verdict)}: {suite.Name}");
        SuiteHeadline.Write(page, suite);
        page.Add($"<main id=\"main\">\n");
        SinceSection.Write(page, suite);
        RegionSection.Write(page, VariedRegion.Of(suite.Runs));
        RunsSection.Write(page, suite);
        PooledSection.Write(page, suite);
        ClassesSection.Write(page, suite);
        FlippedSection.Write(page, suite);
        TrivialSection.Write(page, suite);
        SuiteReadingSection.Write(page, suite);
        page.Add($"</main>\n");
        page.End();
    }
}
