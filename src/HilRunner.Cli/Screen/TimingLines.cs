using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Runs;
using HilRunner.Reporting;

namespace HilRunner.Cli.Screen;

/// <summary>How the times of one run, or of several, are known: a line for the device's clock, one for pacing, one where credit starved it.</summary>
internal static class TimingLines
{
    public static void Print(IReadOnlyList<StoredRun> runs)
    {
        if (runs.Count == 0) { return; }
        foreach (string line in (string[])[Clock(runs), Pacing(runs), Credit(runs), Delivered(runs)])
        {
            if (line.Length > 0) { Terminal.Line(line); }
        }
    }

    private static string Clock(IReadOnlyList<StoredRun> runs)
    {
        int answered = runs.Sum(r => r.Timing.Exchanges), asked = answered + runs.Sum(r => r.Timing.Unanswered);
        if (answered == 0) { return asked == 0 ? "clock   not compared: it was not asked" : $"clock   not compared: none of {asked} questions was answered"; }
        string several = runs.Count > 1 ? "at worst " : "";
        DeviceHealth? worst = runs.Select(r => r.Score.Device).Where(d => d.ClockPpm is not null).MaxBy(d => Math.Abs(d.ClockPpm!.Value));
        string rate = worst is null ? "rate not known" : several + ClockWords.Rate(worst);
        string bound = runs.Max(r => r.Score.Health.ClockUncertaintyNs) is { } u ? $" · decisions within ± {Figure.Uncertainty(u / 1e9)}" : "";
        return $"clock   {rate}{bound} · {answered} of {asked} answers";
    }

    private static string Pacing(IReadOnlyList<StoredRun> runs)
    {
        var paced = runs.Where(r => r.Score.Health.LateMaxNs is not null).ToList();
        if (runs.All(r => !r.Manifest.Injects)) { return ""; }
        if (paced.Count == 0) { return "pacing  nothing was due: the device set the pace"; }
        string several = runs.Count > 1 ? "at worst " : "late by ";
        long? Worst(Func<RigHealth, long?> figure) => paced.Max(r => figure(r.Score.Health));
        string limit = Figure.Nanoseconds(paced.Min(r => r.HealthLimits.Late.Ticks) * 100);
        return $"pacing  {several}p50 {Figure.Nanoseconds(Worst(h => h.LateP50Ns))} · p99 {Figure.Nanoseconds(Worst(h => h.LateP99Ns))} · max {Figure.Nanoseconds(Worst(h => h.LateMaxNs))} (limit {limit})";
    }

    /// <summary>Of several runs the worst; those that are not delivered say so among their reasons, too.</summary>
    private static string Delivered(IReadOnlyList<StoredRun> runs)
    {
        var known = runs.Where(r => r.Score.Delivery is not null).ToList();
        if (known.Count == 0) { return ""; }
        var worst = known.MaxBy(r => r.Score.Delivery!.Outcome)!;
        int alike = known.Count(r => r.Score.Delivery!.Outcome == worst.Score.Delivery!.Outcome);
        string several = known.Count == 1 ? "" : alike == known.Count ? $"all {alike} runs " : $"{alike} of {known.Count} runs ";
        return $"samples {several}{DeliveryWords.WithSource(worst.Score.Delivery!)}";
    }

    private static string Credit(IReadOnlyList<StoredRun> runs)
    {
        var starved = runs.Where(r => PacingWords.Starved(r.Timing, r.Score.Health)).MaxBy(r => r.Timing.CreditWaitNs);
        return starved is null ? "" : PacingWords.Credit(starved.Timing, starved.Score.Health);
    }
}
