using System.Globalization;
using HilRunner.Core.Recordings;
using HilRunner.Inspection;
using HilRunner.Inspection.Labels;
using HilRunner.Inspection.Results;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>One recording: what was found, where it lies on the time axis, its distributions and classes, and every check.</summary>
internal static class RecordingSection
{
    private const int OpenFindings = 12, MostPlaces = 3;

    public static string Id(int index) => FormattableString.Invariant($"recording-{index}");

    /// <param name="name">Unique in the page.</param>
    public static void Write(HtmlPage page, RecordingInspection i, int index, string name, ClassColours colours)
    {
        string id = Id(index);
        page.Add($"<section class=\"wide long\" aria-labelledby=\"{id}\"><h2 id=\"{id}\">{name}: {FitnessWords.Of(i.Verdict)}</h2>\n<div>\n<p class=\"quiet\">{i.Recording.Path}: {InspectReport.Facts(i)}</p>\n");
        Identity(page, i.Recording.Info);
        var findings = i.Findings.ToList();
        Findings(page, i, name, findings);
        page.Add(SignalSvg.Of(i, name, findings, colours, index));
        page.Add($"<div class=\"beside\">\n");
        if (i.Pictures.Rest is { } rest) { page.Add(HistogramSvg.Of(rest, name, "|a| at rest", "1 g is what an accelerometer reads at rest", 4)); }
        if (i.Pictures.Intervals is { } intervals) { page.Add(HistogramSvg.Of(intervals, name, "Steps between times", "even steps are one column; beyond two steps it is a gap", 3)); }
        if (i.Pictures.Spectra.Count > 0) { page.Add(SpectrumSvg.Of(i.Pictures.Spectra, name, colours)); }
        page.Add($"</div>\n");
        Classes(page, i.Classes, name, colours);
        page.Add($"<details{(i.Verdict == Fitness.Fit ? Markup.Of($" open") : Markup.Empty)}><summary>Every check of {name}</summary>\n");
        page.Table($"Checks of {name}", ["Check", "State", "What it says"], i.Checks.Select(Check), "limits");
        page.Add($"</details>\n</div></section>\n");
    }

    private static void Identity(HtmlPage page, RecordingInfo info)
    {
        (string Name, string? Text)[] said = [("source", info.Source), ("mounting", info.Mounting), ("provenance", info.Provenance), ("licence", info.Licence)];
        string text = string.Join("; ", said.Where(s => s.Text is not null).Select(s => $"{s.Name}: {s.Text}"));
        if (text.Length > 0) { page.Add($"<p class=\"quiet\">{text}</p>\n"); }
    }

    private static void Findings(HtmlPage page, RecordingInspection i, string name, List<Finding> findings)
    {
        if (findings.Count == 0)
        {
            int judged = i.Checks.Count(c => c.Fitness is not null);
            page.Add($"<p>Nothing speaks against it: {judged} checks judged, {i.Checks.Count - judged} could not be (see below).</p>\n");
            return;
        }
        string[] heads = ["Mark", "How bad", "What", "Where", "What to do"];
        page.Table($"Findings in {name}, worst first", heads, findings.Take(OpenFindings).Select((f, n) => Row(f, n + 1)), "runs");
        if (findings.Count <= OpenFindings) { return; }
        page.Add($"<details><summary>The other {findings.Count - OpenFindings} findings</summary>\n");
        page.Table($"The other findings in {name}", heads, findings.Skip(OpenFindings).Select((f, n) => Row(f, OpenFindings + n + 1)), "runs");
        page.Add($"</details>\n");
    }

    private static Markup Row(Finding f, int number)
    {
        string where = f.Where.Count == 0 ? "the whole recording" : InspectReport.Places(f, MostPlaces);
        return Markup.Of($"<tr class=\"{FitnessStamp.Row(f.Fitness)}\"><th scope=\"row\" class=\"n\">{number}</th><td>{FitnessStamp.Small(f.Fitness)}</td><td class=\"text\">{f.What}</td><td class=\"text\">{where}</td><td class=\"text\">{f.Remedy}</td></tr>");
    }

    private static Markup Check(CheckResult c) =>
        Markup.Of($"<tr class=\"{FitnessStamp.Row(c.Fitness)}\"><th scope=\"row\">{c.Check}</th><td>{FitnessStamp.Small(c.Fitness)}</td><td>{c.Summary}</td></tr>");

    private static void Classes(HtmlPage page, IReadOnlyList<ClassRow> classes, string name, ClassColours colours)
    {
        if (classes.Count == 0) { return; }
        const string still = "it does not move enough for a spectrum", axes = "needs ax, ay and az";
        page.Table($"Classes of {name}, longest first", ["Class", "Segments", "Seconds", "Share", "Shortest, s", "Mean |a|, g", "Deviation of |a|, g", "Dominant in |a|, Hz", "In the axes, Hz"], classes.Select(c =>
        {
            string width = (c.Share / classes[0].Share * 100).ToString("0.#", CultureInfo.InvariantCulture);
            return Markup.Of($"<tr><th scope=\"row\">{colours.Label(c.Class)}</th><td class=\"n\">{c.Segments}</td><td class=\"n\">{Figure.Decimals(c.Seconds, 1)}</td><td class=\"balance\"><i class=\"bar\" style=\"width:{width}%\"></i><span>{Figure.Share(c.Share)}</span></td><td class=\"n\">{Figure.Decimals(c.ShortestS, 2)}</td><td class=\"n\">{HtmlPage.FigureOr(Figure.Decimals(c.MeanG, 4), axes)}</td><td class=\"n\">{HtmlPage.FigureOr(Figure.Decimals(c.DeviationG, 4), axes)}</td><td class=\"n\">{HtmlPage.FigureOr(Figure.Decimals(c.DominantHz, 2), still)}</td><td class=\"n\">{HtmlPage.FigureOr(Figure.Decimals(c.DominantAxesHz, 2), still)}</td></tr>");
        }));
    }

}
