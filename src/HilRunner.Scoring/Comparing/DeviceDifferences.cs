using System.Globalization;
using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>Resets, silences, the rate of the device's clock. A device that resets where it did not before is worse, without any test.</summary>
internal static class DeviceDifferences
{
    /// <summary>What temperature and ageing may move an oscillator by from one night to the next; a defect of the firmware's clock is far beyond.</summary>
    private const double ClockTolerancePpm = 100;

    public static IEnumerable<Difference> Of(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate)
    {
        if (baseline.Count == 0 || candidate.Count == 0) { yield break; }
        yield return Count(Measure.DeviceResets, baseline, candidate, r => r.Device.Resets);
        yield return Count(Measure.DeviceSilences, baseline, candidate, r => r.Device.Silences);
        if (Rate(baseline) is { } before && Rate(candidate) is { } now) { yield return Clock(before, now); }
    }

    private static Difference Count(Measure measure, IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate, Func<ComparedRun, int> count)
    {
        int before = baseline.Sum(count), now = candidate.Sum(count);
        int runsBefore = baseline.Count(r => count(r) > 0), runsNow = candidate.Count(r => count(r) > 0);
        // Where both have some, the runs that have any are held against each other.
        double p = FisherExact.Test(runsBefore, baseline.Count, runsNow, candidate.Count)!.Value;
        Change change = before == 0 && now > 0 ? Change.Worse
            : before > 0 && now > 0 && p <= BuildComparison.Level ? (double)runsNow / candidate.Count > (double)runsBefore / baseline.Count ? Change.Worse : Change.Better
            : before > 0 && now == 0 && p <= BuildComparison.Level ? Change.Better
            : Change.NoneShown;
        return new(measure, "", null)
        {
            Change = change, Pairs = baseline.Count + candidate.Count, Shift = now - before,
            Why = string.Create(CultureInfo.InvariantCulture, $"{before} in {baseline.Count} runs before, {now} in {candidate.Count} now"),
        };
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
