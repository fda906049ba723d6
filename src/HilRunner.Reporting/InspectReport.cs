using HilRunner.Inspection;
using HilRunner.Inspection.Results;
using HilRunner.Reporting.Axis;
using HilRunner.Reporting.InspectPage;
using HilRunner.Reporting.Page;

namespace HilRunner.Reporting;

/// <summary>The page of <c>hil inspect</c>: may these recordings be used, and why not; then each with its findings, plots and checks.</summary>
public static class InspectReport
{
    /// <summary>Writes the whole page; <paramref name="output"/> should encode as UTF-8.</summary>
    public static void Write(IReadOnlyList<RecordingInspection> inspections, TextWriter output)
    {
        ArgumentNullException.ThrowIfNull(inspections);
        ArgumentNullException.ThrowIfNull(output);
        var page = new HtmlPage(output);
        var colours = new ClassColours(inspections.SelectMany(i => i.Recording.Labels.Select(l => l.Class)));
        string title = inspections.Count == 1 ? inspections[0].Recording.Name : FormattableString.Invariant($"{inspections.Count} recordings");
        page.Begin(inspections.Count == 0 ? "no recording inspected" : $"{FitnessWords.Of(inspections.Max(i => i.Verdict))}: {title}");
        InspectHeadline.Write(page, inspections, title);
        page.Add($"<main id=\"main\">\n");
        if (inspections.Count > 1) { OverviewSection.Write(page, inspections); }
        var names = inspections.CountBy(i => i.Recording.Name).ToDictionary();
        for (int i = 0; i < inspections.Count; i++)
        {
            // Recordings of one name in several folders must be told apart by ear, too.
            string name = inspections[i].Recording.Name;
            RecordingSection.Write(page, inspections[i], i, names[name] == 1 ? name : FormattableString.Invariant($"{name} ({i + 1})"), colours);
        }
        InspectReadingSection.Write(page);
        page.Add($"</main>\n");
        page.End();
    }

    /// <summary>Length, channels and labels in a line: "ax, ay, az; 71 s at 100 Hz, 7100 samples; 5 labels of 3 classes".</summary>
    public static string Facts(RecordingInspection inspection)
    {
        ArgumentNullException.ThrowIfNull(inspection);
        var r = inspection.Recording;
        string rate = r.StatedRate is { } stated ? $" at {stated}" : "";
        string labels = r.Labels.Count == 0 ? "no labels" : FormattableString.Invariant($"{r.Labels.Count} label{(r.Labels.Count == 1 ? "" : "s")} of {inspection.Classes.Count} class{(inspection.Classes.Count == 1 ? "" : "es")}");
        return FormattableString.Invariant($"{string.Join(", ", r.ChannelNames)}; {Figure.At(inspection.EndNs)}{rate}, {r.SampleCount} sample{(r.SampleCount == 1 ? "" : "s")}; {labels}");
    }

    /// <summary>The first places of a finding, and how many more there are.</summary>
    public static string Places(Finding finding, int most)
    {
        ArgumentNullException.ThrowIfNull(finding);
        string first = string.Join(", ", finding.Where.Take(most).Select(w => $"{Figure.At(w.FromNs)} to {Figure.At(w.ToNs)}"));
        long more = finding.Places - Math.Min(most, finding.Where.Count);
        return first + (more > 0 ? FormattableString.Invariant($" and {more} more place{(more == 1 ? "" : "s")}") : "");
    }
}
