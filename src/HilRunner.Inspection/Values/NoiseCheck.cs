using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Values;

/// <summary>
/// Noise of the quietest tenth of the seconds: standard deviation of the steps from sample to sample, divided by √2, which for white noise is
/// the noise's own deviation and leaves slow motion out; the median over those seconds. Density: that over √(rate/2).
/// Where the quietest seconds move slowly, nothing is said; a vibration that never stops cannot be told from noise, so that a noisy recording is
/// usable with care and never unfit.
/// </summary>
internal sealed class NoiseCheck : IRecordingCheck
{
    public string Name => "noise floor";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        var quiet = context.Rest.Quietest;
        if (quiet.Length < Thresholds.StillLeast.Value) { return CheckResult.NotJudged(Name, "fewer than three whole seconds"); }
        var report = new CheckReport(Name);
        double worst = 0, worstWhite = 0;
        for (int axis = 0; axis < 3; axis++)
        {
            double noise = Statistics.Median(quiet.Select(w => w.Noise[axis]));
            report.Figure($"noise_a{"xyz"[axis]}", noise, "g");
            if (noise < worst) { continue; }
            worst = noise;
            worstWhite = Statistics.Median(quiet.Select(w => w.Deviation[axis] == 0 ? 1 : w.Noise[axis] / w.Deviation[axis]));
        }
        var figure = report.Figure("noise_worst", worst, "g");
        report.Figure("noise_density", worst / Math.Sqrt(context.RateHz / 2), "g/√Hz");
        string text = $"{Say.G(worst)} rms on the noisiest axis, {Say.Number(worst / Math.Sqrt(context.RateHz / 2) * 1e3)} mg/√Hz";
        if (worst > Thresholds.NoiseCare.Value && worstWhite < Thresholds.NoiseWhite.Value)
        {
            return CheckResult.NotJudged(Name, $"never quiet: {Say.G(worst)} in the quietest tenth is motion, not noise");
        }
        if (worst > Thresholds.NoiseCare.Value)
        {
            report.Find("noisy", Fitness.WithCare, $"never quieter than {text}", figure,
                "if something vibrated all the time, add a still minute; else look at the sensor's low-power mode, supply and bandwidth");
        }
        return report.Done(text);
    }
}
