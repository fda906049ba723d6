using HilRunner.Core.Recordings;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Timing;

/// <summary>
/// The time column against the stated rate: (true rate ÷ stated rate − 1) in ppm, with the uncertainty that the jitter of both ends leaves;
/// and the largest distance of a sample from its place at the stated rate, in time. Beyond half a step plus 200 ppm the strict
/// reader refuses the recording.
/// </summary>
internal sealed class ClockCheck : IRecordingCheck
{
    private const double LeastPpm = 0.01;

    public string Name => "clock against stated rate";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Recording.StatedRate is not { } stated) { return CheckResult.NotJudged(Name, "no rate is stated"); }
        if (context.Recording.TimesNs is null) { return CheckResult.NotJudged(Name, "no time column"); }
        if (EvenSteps.Of(context) is not { } steps) { return CheckResult.NotJudged(Name, "fewer than two even steps"); }
        double statedStep = 1e12 / stated.MilliHertz;
        double ppm = (statedStep / steps.MeanNs - 1) * 1e6;
        double uncertainty = Math.Max(LeastPpm, 2 * steps.DeviationNs / (steps.Count * steps.MeanNs) * 1e6);
        // Gaps apart: how far the even steps alone carry the last sample from its place.
        double offNs = Math.Abs(steps.Count * (steps.MeanNs - statedStep));
        var report = new CheckReport(Name);
        var figure = report.Figure("clock_ppm", ppm, "ppm");
        report.Figure("clock_ppm_uncertainty", uncertainty, "ppm");
        report.Figure("off_at_end_s", offNs / 1e9, "s");
        string text = $"{(ppm < 0 ? "" : "+")}{Say.Number(ppm)} ± {Say.Number(uncertainty)} ppm against {stated}, {Say.Seconds(offNs / 1e9)} at the end";
        bool refused = offNs > SampleTimes.Jitter * statedStep + SampleTimes.Drift * steps.Count * steps.MeanNs;
        if (refused || Math.Abs(ppm) - uncertainty > Thresholds.DriftCare.Value)
        {
            report.Find("clock_drift", refused ? Fitness.Unfit : Fitness.WithCare, text, figure,
                $"state the true rate ({Say.Fixed(steps.RateHz, 3)} Hz) in the side file, or find out which of both clocks is wrong");
        }
        return report.Done(text);
    }
}
