using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Labels;

/// <summary>The shortest segment of every class that is neither momentary nor unscored, against a window of the model, or the usual one.</summary>
internal sealed class SegmentLengthCheck : IRecordingCheck
{
    public string Name => "shortest segments";

    public CheckResult Of(InspectionContext context)
    {
        var counted = context.Segments.ByClass.Where(c => !context.Options.Momentary.Contains(c.Key) && !context.Options.Unscored.Contains(c.Key)).ToList();
        if (counted.Count == 0) { return CheckResult.NotJudged(Name, "no labels that last"); }
        var model = context.Options.Model;
        double least = model is null ? Thresholds.ShortestSegment.Value : model.Window / model.Rate.Hertz;
        string window = model is null ? "the usual window" : $"the window of {model.Name}";
        var report = new CheckReport(Name);
        var places = new PlaceList();
        var shortest = counted.SelectMany(c => c.Value).MinBy(s => s.EndNs - s.StartNs);
        foreach (var s in counted.SelectMany(c => c.Value).Where(s => (s.EndNs - s.StartNs) / 1e9 < least)) { places.Add(s.StartNs, s.EndNs); }
        var figure = report.Figure("shortest_s", (shortest.EndNs - shortest.StartNs) / 1e9, "s");
        string text = $"{Say.Seconds(figure.Value ?? 0)} ({shortest.Class} at {Say.At(shortest.StartNs)})";
        if (places.Count > 0)
        {
            report.Find("short_segment", Fitness.WithCare, $"{Say.Count(places.Count, "segment")} shorter than {window} of {Say.Seconds(least)}, the shortest {text}", figure,
                "no window lies wholly in them: label longer stretches, or name the class among the momentary or unscored ones", places);
        }
        return report.Done(text);
    }
}
