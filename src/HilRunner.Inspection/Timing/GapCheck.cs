using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Timing;

/// <summary>A gap: a step of more than one and a half median steps. Missing samples: the step in median steps, rounded, less one.</summary>
internal sealed class GapCheck : IRecordingCheck
{
    public string Name => "gaps";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Recording.TimesNs is not { Length: > 1 } times) { return CheckResult.NotJudged(Name, "no time column: a gap would not show"); }
        double step = context.Axis.StepNs;
        var places = new PlaceList();
        double lost = 0;
        long longest = 0;
        foreach (int i in context.Axis.Breaks)
        {
            long gap = times[i] - times[i - 1];
            if (gap <= (1 + Thresholds.StepUneven.Value) * step) { continue; }
            places.Add(context.Axis.At(i - 1), context.Axis.At(i));
            lost += Math.Round(gap / step) - 1;
            longest = Math.Max(longest, gap);
        }
        var report = new CheckReport(Name);
        var count = report.Figure("gaps", places.Count, "");
        report.Figure("samples_lost", lost, "");
        report.Figure("longest_gap_s", places.Count == 0 ? null : longest / 1e9, "s");
        if (places.Count == 0) { return report.Done("none"); }
        string summary = $"{Say.Count(places.Count, "gap")}, about {Say.Count((long)lost, "sample")} lost, longest {Say.Seconds(longest / 1e9)}";
        report.Find("gap", Fitness.Unfit, summary, count,
            "cut the recording at each gap and use the parts; filling gaps in invents motion, and everything after a closed gap lies beside its labels", places);
        return report.Done(summary);
    }
}
