using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Spectrum;

/// <summary>
/// The recording against the device's sample rate. Above half of that rate the device is blind (or, without a filter, sees it folded): the share of
/// each moving class's power up there. A recording that is slower than the device lacks what the device would feel above half the recording's rate.
/// </summary>
internal sealed class DeviceRateCheck : IRecordingCheck
{
    public string Name => "device's rate";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Options.DeviceRate is not { } device) { return CheckResult.NotJudged(Name, "no rate of the device is given (--rate)"); }
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        var report = new CheckReport(Name);
        var slower = report.Figure("rate_ratio", context.RateHz / device.Hertz, "of the device's rate");
        if (slower.Value < 0.99)
        {
            report.Find("slower_than_device", Fitness.WithCare, $"recorded at {Say.Number(context.RateHz)} Hz for a device at {device}", slower,
                $"record at {device} or faster: above {Say.Number(context.RateHz / 2)} Hz the device will be played silence");
        }
        double worst = 0;
        string of = "";
        foreach (var s in context.Spectra.All.Where(s => s.Moves))
        {
            double share = s.ShareAbove(device.Hertz / 2);
            report.Figure($"above_{FrequencyCheck.Key(s.Class)}", share, "of its power");
            if (share >= worst) { (worst, of) = (share, FrequencyCheck.Called(s.Class)); }
        }
        if (of.Length == 0) { return report.Done(report.Findings.Count > 0 ? report.Findings[0].What : "nothing moves for a second or longer"); }
        string text = $"{Say.Share(worst)} of the power of {of} lies above {Say.Number(device.Hertz / 2)} Hz, half the device's rate";
        if (worst > Thresholds.AliasCare.Value)
        {
            report.Find("aliasing", worst > Thresholds.AliasUnfit.Value ? Fitness.Unfit : Fitness.WithCare, text, report.Figure("above_worst", worst, "of its power"),
                "see to it that the device's sensor filters below half its rate, sample faster, or expect other features than in the recording");
        }
        return report.Done(text);
    }
}
