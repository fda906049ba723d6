using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Spectrum;

/// <summary>
/// Velocity severity of every class, as information: the largest of the three axes' rms of velocity from 10 to 1000 Hz, or as far as the rate reaches, from
/// the mean spectrum of acceleration divided by (2πf)². It finds nothing: what a machine may do is for its standard, its maker and a competent person to say.
/// </summary>
internal sealed class SeverityCheck : IRecordingCheck
{
    private const double FromHz = 10, ToHz = 1000, MmPerS2 = 9806.65;

    public string Name => "velocity severity";

    public CheckResult Of(InspectionContext context)
    {
        if (!context.Options.Severity) { return CheckResult.NotJudged(Name, "not asked for (--severity)"); }
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        double top = Math.Min(ToHz, context.RateHz / 2);
        if (top < 2 * FromHz) { return CheckResult.NotJudged(Name, $"needs a rate of {4 * FromHz:0} Hz or more: severity begins at {FromHz:0} Hz"); }
        var report = new CheckReport(Name);
        var said = new List<string>();
        foreach (var s in context.Spectra.All)
        {
            double most = s.AxisDensities.Max(density => Velocity(density, s.ResolutionHz, top));
            report.Figure($"severity_{FrequencyCheck.Key(s.Class)}", most, "mm/s rms");
            said.Add($"{FrequencyCheck.Called(s.Class)} {most.ToString("0.00", System.Globalization.CultureInfo.InvariantCulture)} mm/s rms (zones {VibrationZones.Of(most)})");
        }
        if (said.Count == 0) { return CheckResult.NotJudged(Name, "no stretch of a second or longer"); }
        report.Figure("severity_to", top, "Hz");
        return report.Done($"{string.Join("; ", said)}; {FromHz:0} to {Say.Number(top)} Hz{(top < ToHz ? $", not {ToHz:0} Hz, for the rate" : "")}; zones by machine class, ISO 10816-1:1995 Annex B: information, no judgement of a machine") with { Fitness = null };
    }

    /// <summary>mm/s rms; the lines that the band cuts count in part.</summary>
    internal static double Velocity(double[] density, double resolutionHz, double topHz)
    {
        double power = 0;
        for (int k = 1; k < density.Length; k++)
        {
            double low = Math.Max(FromHz, (k - 0.5) * resolutionHz), high = Math.Min(topHz, (k + 0.5) * resolutionHz);
            if (high > low) { power += density[k] * (high - low) * Math.Pow(MmPerS2 / (2 * Math.PI * k * resolutionHz), 2); }
        }
        return Math.Sqrt(power);
    }
}
