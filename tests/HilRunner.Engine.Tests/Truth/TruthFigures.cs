using HilRunner.Scoring;

namespace HilRunner.Engine.Tests.Truth;

/// <summary>One of the two latencies: what the tool says of a trial, and what is true.</summary>
internal sealed record LatencyKind(string Name, Func<TrialScore, long?> Figure, Func<TrialScore, long?> HalfWidth, Func<TruthTrial, long> TruthNs)
{
    /// <summary>A trial without a figure or without a half-width is not covered.</summary>
    public bool Covers(TruthTrial t) => ErrorNs(t) is { } error && HalfWidth(t.Trial) is { } half && Math.Abs(error) <= half;

    /// <summary>What the tool says less the truth; null: it says nothing.</summary>
    public long? ErrorNs(TruthTrial t) => Figure(t.Trial) - TruthNs(t);
}

internal static class TruthFigures
{
    public static LatencyKind Decision { get; } = new("decision", t => t.Already ? null : t.ReactionNs, t => t.UncertaintyNs, t => t.DecisionNs);
    public static LatencyKind Report { get; } = new("report", t => t.ReportLatencyNs, t => t.ReportUncertaintyNs, t => t.ReportNs);

    /// <summary>2·(½ · smallest round trip seen + byte time + sample period), and twice what the machine itself was late.</summary>
    public static long WidestNs(TruthResult result)
    {
        var timing = result.Evidence.Timing;
        return (timing.LeastDelayNs ?? 0) + 2 * (timing.ByteNs ?? 0) + 2 * result.Row.Rate.TimeOf(1).Ns + 2 * result.WakeNs;
    }

    public static long MedianWidthNs(TruthResult result, LatencyKind kind)
    {
        // Where nothing is stated the interval is everything.
        long[] widths = [.. result.Trials.Select(t => 2 * kind.HalfWidth(t.Trial) ?? long.MaxValue).Order()];
        return widths.Length == 0 ? long.MaxValue : widths[widths.Length / 2];
    }

    public static string Line(TruthResult result)
    {
        var device = result.Evidence.Device;
        var timing = result.Evidence.Timing;
        return FormattableString.Invariant(
            $"{result.Row}: {result.Trials.Count} trials; {Of(result, Decision)}; {Of(result, Report)}; widest {Ms(WidestNs(result))}; clock {device.ClockPpm:0.0} ± {device.ClockPpmUncertainty:0.0} ppm, {timing.Exchanges} exchanges, {timing.Unanswered} unanswered, {timing.Epochs} epochs, stamps {Ms(timing.StampNs)}, wakes {Ms(result.WakeNs)}");
    }

    public static string Line(TruthTrial trial, LatencyKind kind) => FormattableString.Invariant(
        $"at {trial.Trial.StartNs / 1e9:0.000} s {kind.Name} {Ms(kind.Figure(trial.Trial))} ± {Ms(kind.HalfWidth(trial.Trial))}, truth {Ms(kind.TruthNs(trial))}{(trial.Trial.Already ? ", already" : "")}{(trial.Trial.Missed ? ", missed" : "")}");

    private static string Of(TruthResult result, LatencyKind kind)
    {
        long[] errors = [.. result.Trials.Select(kind.ErrorNs).OfType<long>().Order()];
        string range = errors.Length == 0 ? "none" : $"{Ms(errors[0])} … {Ms(errors[errors.Length / 2])} … {Ms(errors[^1])}, of 99 % up to {Ms(errors[(errors.Length - 1) * 99 / 100])}";
        return FormattableString.Invariant($"{kind.Name} covered {result.Trials.Count(kind.Covers)}, errors {range}, width {Ms(MedianWidthNs(result, kind))}");
    }

    private static string Ms(long? ns) => ns is null or long.MaxValue ? "–" : FormattableString.Invariant($"{ns / 1e6:0.000}");
}
