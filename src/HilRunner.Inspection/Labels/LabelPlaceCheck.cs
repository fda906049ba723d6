using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Labels;

/// <summary>Labels that overlap, end before they start, start before the recording, end after it or lie outside; lines that hold none.</summary>
internal sealed class LabelPlaceCheck : IRecordingCheck
{
    public string Name => "places of labels";

    public CheckResult Of(InspectionContext context)
    {
        var labels = context.Recording.Labels;
        var bad = context.Recording.LineFaults.Labels;
        if (labels.Count == 0 && bad.Count == 0) { return CheckResult.NotJudged(Name, "no labels"); }
        var report = new CheckReport(Name);
        long end = context.Axis.EndNs;
        if (bad.Count > 0)
        {
            report.Find("bad_label_line", Fitness.Unfit, $"{Say.Count(bad.Count, "line")} of labels without a label, the first: {bad[0]}",
                report.Figure("bad_label_lines", bad.Count, ""), "mend the label file");
        }
        PlaceList reversed = new(), before = new(), outside = new(), past = new(), overlap = new();
        foreach (var label in labels)
        {
            if (label.EndNs <= label.StartNs) { reversed.Add(label.EndNs, label.StartNs); }
            else if (label.StartNs >= end || label.EndNs <= 0) { outside.Add(label.StartNs, label.EndNs); }
            else if (label.StartNs < 0) { before.Add(label.StartNs, label.EndNs); }
            else if (label.EndNs > end + (long)(Thresholds.LabelPastEnd.Value * 1e9)) { past.Add(end, label.EndNs); }
        }
        Overlaps(labels, overlap);
        const string clock = "labels and samples must stand on one clock: check the times of both files";
        Find(report, "label_reversed", Fitness.Unfit, "label that ends before it starts", "labels that end before they start", reversed, "correct the label");
        Find(report, "label_overlap", Fitness.Unfit, "place where two labels overlap", "places where two labels overlap", overlap, "say which of the two is right there");
        Find(report, "label_outside", Fitness.Unfit, "label outside the recording", "labels outside the recording", outside, clock);
        Find(report, "label_before", Fitness.Unfit, "label that starts before the first sample", "labels that start before the first sample", before, clock);
        Find(report, "label_past_end", Fitness.WithCare, "label that ends after the last sample", "labels that end after the last sample", past, clock + "; it is cut at the end when it is played");
        return report.Done(report.Findings.Count == 0 ? $"{Say.Count(labels.Count, "label")}, none overlaps or lies outside" : string.Join("; ", report.Findings.Select(f => f.What)));
    }

    private static void Overlaps(IReadOnlyList<Reading.InspectedLabel> labels, PlaceList places)
    {
        long reached = long.MinValue;
        foreach (var label in labels.Where(l => l.EndNs > l.StartNs).OrderBy(l => l.StartNs).ThenBy(l => l.EndNs))
        {
            if (label.StartNs < reached) { places.Add(label.StartNs, Math.Min(reached, label.EndNs)); }
            reached = Math.Max(reached, label.EndNs);
        }
    }

    private static void Find(CheckReport report, string kind, Fitness fitness, string one, string many, PlaceList places, string remedy)
    {
        var figure = report.Figure($"{kind}s", places.Count, "");
        if (places.Count > 0) { report.Find(kind, fitness, Say.Count(places.Count, one, many), figure, remedy, places); }
    }
}
