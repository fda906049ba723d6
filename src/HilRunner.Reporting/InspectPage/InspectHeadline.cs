using HilRunner.Inspection;
using HilRunner.Inspection.Results;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>The first screen: may these recordings be used, what speaks against them, what to do.</summary>
internal static class InspectHeadline
{
    private const int MostSteps = 6;

    public static void Write(HtmlPage page, IReadOnlyList<RecordingInspection> inspections, string title)
    {
        page.Add($"<a class=\"skip\" href=\"#main\">Skip to the recordings</a>\n<header>\n<p class=\"kicker\">Inspection of recordings <span class=\"dot\">·</span> {title}</p>\n");
        if (inspections.Count == 0)
        {
            page.Add($"<h1><span class=\"reason\">No recording was inspected.</span></h1>\n</header>\n");
            return;
        }
        var worst = inspections.OrderByDescending(i => i.Verdict).First();
        string reason = worst.Findings.FirstOrDefault()?.What ?? "nothing speaks against it";
        string whose = inspections.Count > 1 && worst.Verdict > Fitness.Fit ? worst.Recording.Name + ": " : "";
        page.Add($"<h1>{FitnessStamp.Of(worst.Verdict)} <span class=\"reason\">{whose}{reason}</span></h1>\n<p class=\"answer\">{Answer(inspections, worst.Verdict)}</p>\n");
        var invented = inspections.Where(i => i.Recording.Info.Invented).Select(i => i.Recording.Name).Distinct().ToList();
        if (invented.Count > 0) { page.Add($"<p class=\"notice\"><b>Made-up data.</b> Invented, not recorded: {string.Join(", ", invented)}.</p>\n"); }
        var steps = inspections.SelectMany(i => i.Findings).OrderByDescending(f => f.Fitness).DistinctBy(f => f.Kind).Take(MostSteps).ToList();
        if (steps.Count > 0)
        {
            page.Add($"<div class=\"first\"><section class=\"next\" aria-labelledby=\"next-title\"><h2 id=\"next-title\">What to do next</h2>\n<ul>\n");
            foreach (var step in steps) { page.Add($"<li>{Sentence(step.What)}: {step.Remedy}.</li>\n"); }
            page.Add($"</ul></section></div>\n");
        }
        page.Add($"</header>\n");
    }

    private static string Answer(IReadOnlyList<RecordingInspection> inspections, Fitness worst)
    {
        if (inspections.Count == 1)
        {
            return worst switch
            {
                Fitness.Fit => "This recording may be used.",
                Fitness.WithCare => "This recording may be used, with what follows in mind.",
                _ => "This recording must not be used as it is.",
            };
        }
        int of(Fitness f) => inspections.Count(i => i.Verdict == f);
        return FormattableString.Invariant($"Of {inspections.Count} recordings {of(Fitness.Fit)} may be used, {of(Fitness.WithCare)} with care, {of(Fitness.Unfit)} not as they are.");
    }

    private static string Sentence(string text) => text.Length == 0 ? text : char.ToUpperInvariant(text[0]) + text[1..];
}
