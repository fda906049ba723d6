using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring.Limits;

/// <summary>Holds figures against bounds.</summary>
internal static class LimitJudge
{
    public const string Pooled = "judged over the suite's pooled trials";

    /// <summary>The scenario's limits in its order, each for every output it applies to; then the default ones.</summary>
    /// <exception cref="ArgumentException">A limit is malformed: none or both bounds, or a statistic missing or out of place.</exception>
    public static IReadOnlyList<LimitOutcome> Judge(
        IReadOnlyList<Limit> limits, IReadOnlyList<ScoredOutput> outputs, DeviceHealth device, RunTiming? timing)
    {
        var outcomes = new List<LimitOutcome>();
        foreach (var limit in limits)
        {
            Check(limit);
            if (OfDevice(limit.Measure, device, timing) is { } figure)
            {
                outcomes.Add(Judge(limit, figure, ""));
                continue;
            }
            var judged = outputs.Where(o => limit.Output is null || o.Score.Output == limit.Output).ToList();
            if (judged.Count == 0)
            {
                outcomes.Add(Judge(limit, Figure.Undefined($"the device has no output named {limit.Output}"), limit.Output!));
            }
            outcomes.AddRange(judged.Select(o => Judge(limit, LimitFigures.Of(limit, o), o.Score.Output)));
        }
        foreach (var measure in (ReadOnlySpan<Measure>)[Measure.DeviceResets, Measure.DeviceSilences])
        {
            if (limits.Any(l => l.Measure == measure)) { continue; }
            outcomes.Add(Judge(new Limit(measure) { AtMost = 0 }, OfDevice(measure, device, timing)!.Value, ""));
        }
        return outcomes;
    }

    private static LimitOutcome Judge(Limit limit, Figure figure, string output)
    {
        string text = LimitText.Of(limit);
        double bound = LimitText.Bound(limit);
        if (limit.Confidence is not null)
        {
            // Beside the pooled judgement an infinite figure of one run says nothing that its trials do not say.
            double? shown = figure.Value is { } f && double.IsFinite(f) ? f : null;
            return new(limit, text, shown, bound, Outcome.Open, Pooled, output);
        }
        if (figure.Value is not { } value) { return new(limit, text, null, bound, Outcome.Open, figure.Why, output); }
        bool held = Meets(limit, value);
        if (Meets(limit, figure.Low!.Value) != held || Meets(limit, figure.High!.Value) != held)
        {
            string straddles = $"its uncertainty leaves {LimitText.Rounded(figure.Low!.Value, bound)} to {LimitText.Rounded(figure.High!.Value, bound)}{LimitText.Unit(limit.Measure)} open";
            return new(limit, text, value, bound, Outcome.Open, straddles, output);
        }
        return new(limit, text, value, bound, held ? Outcome.Held : Outcome.Broken, figure.Why, output);
    }

    private static bool Meets(Limit limit, double figure) => limit.AtMost is { } most ? figure <= most : figure >= limit.AtLeast;

    private static Figure? OfDevice(Measure measure, DeviceHealth device, RunTiming? timing) => measure switch
    {
        Measure.DeviceResets => Figure.Exact(device.Resets),
        Measure.DeviceSilences => Figure.Exact(device.Silences),
        Measure.DeviceClockPpm => ClockFigure.Of(device, timing),
        _ => null,
    };

    private static void Check(Limit limit)
    {
        if (limit.AtMost is null == limit.AtLeast is null)
        {
            throw new ArgumentException($"a limit on {LimitText.Name(limit.Measure)} needs exactly one of at_most and at_least", nameof(limit));
        }
        if (LimitText.IsLatency(limit.Measure) == limit.Statistic is null)
        {
            string wants = limit.Statistic is null ? "needs a statistic" : "takes no statistic";
            throw new ArgumentException($"a limit on {LimitText.Name(limit.Measure)} {wants}", nameof(limit));
        }
    }
}
