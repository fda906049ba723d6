using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Timing;

/// <summary>
/// True rate: one over the mean of the even steps (within half of the median step). Jitter: standard deviation of the even steps, in
/// shares of their mean. Gaps and doubled times are other checks' business and do not move these figures.
/// </summary>
internal sealed class RateCheck : IRecordingCheck
{
    public string Name => "rate and jitter";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Recording.TimesNs is null) { return CheckResult.NotJudged(Name, $"no time column: {context.Axis.Rate} as stated"); }
        if (EvenSteps.Of(context) is not { } steps) { return CheckResult.NotJudged(Name, "fewer than two even steps"); }
        var report = new CheckReport(Name);
        report.Figure("rate_hz", steps.RateHz, "Hz");
        var jitter = report.Figure("jitter_rms", steps.DeviationNs / steps.MeanNs, "of a step");
        report.Figure("jitter_rms_s", steps.DeviationNs / 1e9, "s");
        report.Figure("jitter_max_s", steps.LargestNs / 1e9, "s");
        string text = $"jitter {Say.Seconds(steps.DeviationNs / 1e9)} rms ({Say.Share(jitter.Value ?? 0)} of a step), at most {Say.Seconds(steps.LargestNs / 1e9)}";
        if (jitter.Value > Thresholds.JitterCare.Value)
        {
            report.Find("jitter", jitter.Value > Thresholds.JitterUnfit.Value ? Fitness.Unfit : Fitness.WithCare, text, jitter,
                "if the sensor samples evenly, state its rate and leave the time column out; if not, trigger it by a timer");
        }
        return report.Done($"{Say.Fixed(steps.RateHz, 4)} Hz, {text}");
    }
}
