using HilRunner.Inspection;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting.InspectPage;

/// <summary>Every recording in a line, worst first.</summary>
internal static class OverviewSection
{
    public static void Write(HtmlPage page, IReadOnlyList<RecordingInspection> inspections)
    {
        page.Add($"<section aria-labelledby=\"recordings\"><h2 id=\"recordings\">Recordings</h2>\n<div>\n");
        var ordered = inspections.Select((inspection, index) => (Inspection: inspection, Index: index)).OrderByDescending(i => i.Inspection.Verdict).ThenBy(i => i.Index);
        page.Table("Recordings, worst first", ["Recording", "Verdict", "Decided by", "Findings"], ordered.Select(i => Row(i.Inspection, i.Index)), "runs");
        page.Add($"</div></section>\n");
    }

    private static Markup Row(RecordingInspection i, int index)
    {
        string decided = i.Findings.FirstOrDefault()?.What ?? "nothing speaks against it";
        return Markup.Of($"<tr class=\"{FitnessStamp.Row(i.Verdict)}\"><th scope=\"row\"><a href=\"#{RecordingSection.Id(index)}\">{i.Recording.Name}</a></th><td>{FitnessStamp.Small(i.Verdict)}</td><td class=\"text\">{decided}</td><td class=\"n\">{i.Findings.Count()}</td></tr>");
    }
}
