using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Timing;

/// <summary>Times that are doubled, go back, or follow sooner than half a median step after the one before.</summary>
internal sealed class TimeOrderCheck : IRecordingCheck
{
    public string Name => "order of times";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Recording.TimesNs is not { Length: > 1 } times) { return CheckResult.NotJudged(Name, "no time column"); }
        PlaceList doubledRows = new(), doubled = new(), backward = new(), early = new();
        foreach (int i in context.Axis.Breaks)
        {
            long step = times[i] - times[i - 1];
            var list = step < 0 ? backward
                : step == 0 ? Repeats(context, i) ? doubledRows : doubled
                : step < (1 - Thresholds.StepUneven.Value) * context.Axis.StepNs ? early : null;
            list?.Add(context.Axis.At(i - 1), Math.Max(context.Axis.At(i), context.Axis.At(i - 1) + (long)context.Axis.StepNs));
        }
        var report = new CheckReport(Name);
        Find(report, "doubled_row", "rows", "row written twice", "rows written twice", doubledRows, "take the second of each pair out; if a sample went missing for it, that is a gap");
        Find(report, "doubled_time", "times", "time that is the same as the one before", "times that are the same as the one before", doubled,
            "the clock of the log is too coarse or stood still: number the samples and state the rate instead of the time column");
        Find(report, "backward_time", "steps", "step back in time", "steps back in time", backward,
            "the log holds several recordings or its clock was set: cut it there; each part is a recording of its own");
        Find(report, "early_sample", "samples", "sample less than half a step after the one before", "samples less than half a step after the one before", early,
            "times were given on arrival, in bursts: use the device's own time or number, or state the rate and leave the time column out");
        var found = new[] { (doubledRows, "doubled row"), (doubled, "doubled time"), (backward, "step back"), (early, "early sample") }
            .Where(f => f.Item1.Count > 0).Select(f => Say.Count(f.Item1.Count, f.Item2, f.Item2 == "step back" ? "steps back" : null)).ToList();
        return report.Done(found.Count == 0 ? "every time after the one before" : string.Join(", ", found));
    }

    private static void Find(CheckReport report, string kind, string figure, string one, string many, PlaceList places, string remedy)
    {
        var count = report.Figure($"{kind}_{figure}", places.Count, "");
        if (places.Count > 0) { report.Find(kind, Fitness.Unfit, Say.Count(places.Count, one, many), count, remedy, places); }
    }

    private static bool Repeats(InspectionContext context, int sample) =>
        context.Recording.Channels.All(c => c[sample].Equals(c[sample - 1]));
}
