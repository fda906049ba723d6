using System.Globalization;
using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring.Comparing;

/// <summary>Resets, silences, the rate of the device's clock.</summary>
internal static class DeviceDifferences
{
    /// <summary>What temperature and ageing may move an oscillator by from one night to the next; a defect of the firmware's clock is far beyond.</summary>
    private const double ClockTolerancePpm = 100;

    /// <param name="scenarios">Of both; without any, rare events are counted over all runs of the two.</param>
    public static IEnumerable<Difference> Of(
        IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate, IReadOnlyList<SharedScenario> scenarios,
            int seed)
    {
        if (baseline.Count == 0 || candidate.Count == 0) { yield break; }
        var over = scenarios.Count > 0 ? scenarios : SharedScenario.AsOne(baseline, candidate, seed);
        yield return RunMeasure.OfDevice(Measure.DeviceResets, over, r => r.Device.Resets, seed);
        yield return RunMeasure.OfDevice(Measure.DeviceSilences, over, r => r.Device.Silences, seed);
        if (Rate(baseline) is { } before && Rate(candidate) is { } now) { yield return Clock(before, now); }
    }

    private static Difference Clock((double Ppm, double Half) before, (double Ppm, double Half) now)
    {
        double more = Math.Abs(now.Ppm) - Math.Abs(before.Ppm), unsure = before.Half + now.Half + ClockTolerancePpm;
        return new(Measure.DeviceClockPpm, "", null)
        {
            Change = more > unsure ? Change.Worse : more < -unsure ? Change.Better : Change.NoneShown,
            Pairs = 1, Shift = now.Ppm - before.Ppm, Interval = new(now.Ppm - before.Ppm - before.Half - now.Half, now.Ppm - before.Ppm + before.Half + now.Half),
            Why = string.Create(CultureInfo.InvariantCulture, $"off by {before.Ppm:0.#} ± {before.Half:0.#} ppm before, {now.Ppm:0.#} ± {now.Half:0.#} now; up to {ClockTolerancePpm:0} ppm is an oscillator's own"),
        };
    }

    /// <summary>Of the run that knows it best.</summary>
    private static (double Ppm, double Half)? Rate(IReadOnlyList<ComparedRun> runs)
    {
        var known = runs.Where(r => r.Device is { ClockPpm: not null, ClockPpmUncertainty: not null }).MinBy(r => r.Device.ClockPpmUncertainty);
        return known is null ? null : (known.Device.ClockPpm!.Value, known.Device.ClockPpmUncertainty!.Value);
    }
}
