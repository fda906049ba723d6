using System.Globalization;
using HilRunner.Core.Scenarios;

namespace HilRunner.Scoring.Limits;

/// <summary>Limits in words.</summary>
internal static class LimitText
{
    private const double MostPlain = 1e-9;

    /// <summary>As score.json shows a limit: "recognised carried ≥ 0.95", "reaction p95 dropped ≤ 1.5 s".</summary>
    public static string Of(Limit limit)
    {
        string text = Name(limit.Measure);
        if (limit.Statistic is { } statistic) { text += " " + Name(statistic); }
        if (limit.Class is { } c) { text += " " + c; }
        text += (limit.AtMost is null ? " ≥ " : " ≤ ") + Number(Bound(limit)) + Unit(limit.Measure);
        if (limit.Confidence is { } confidence) { text += " with confidence " + Number(confidence); }
        return limit.Output is null ? text : text + OutputSuffix(limit.Output);
    }

    public static string OutputSuffix(string output) => $" (output {output})";

    /// <summary>A sentence's part for people: "conveyed recognised in 41 of 46, needs 0.95".</summary>
    public static string Sentence(LimitOutcome outcome, bool severalOutputs)
    {
        var limit = outcome.Limit;
        string subject = severalOutputs && outcome.Output.Length > 0 ? $"{outcome.Output}: " : "";
        string bound = (limit.AtMost is null ? "needs " : "at most ") + Number(outcome.Bound) + Unit(limit.Measure);
        if (outcome.Outcome == Outcome.Open) { return $"{subject}{outcome.Text} is open: {outcome.Why}"; }
        if (limit.Measure == Measure.Recognised)
        {
            return $"{subject}{limit.Class ?? "all classes together:"} recognised in {outcome.Why}, {bound}";
        }
        string figure = outcome.Figure is { } f && double.IsFinite(f) ? Rounded(f, outcome.Bound) + Unit(limit.Measure) : "without end";
        string why = outcome.Why.Length == 0 ? "" : $" ({outcome.Why})";
        return $"{subject}{Subject(limit)} {figure}{why}, {bound}";
    }

    public static double Bound(Limit limit) => limit.AtMost ?? limit.AtLeast!.Value;

    public static bool IsLatency(Measure measure) => measure is Measure.Reaction or Measure.Settling or Measure.ReportLatency;

    /// <summary>The measure's name in files.</summary>
    public static string Name(Measure measure)
    {
        string camel = measure.ToString();
        string snake = camel[..1].ToLowerInvariant();
        foreach (char c in camel[1..]) { snake += char.IsUpper(c) ? "_" + char.ToLowerInvariant(c) : c; }
        return snake;
    }

    public static string Name(Statistic statistic) => statistic.ToString().ToLowerInvariant();

    private static string Subject(Limit limit)
    {
        string name = limit.Measure == Measure.DeviceClockPpm ? "device clock rate off by" : Name(limit.Measure).Replace('_', ' ');
        if (limit.Statistic is { } statistic) { name += " " + Name(statistic); }
        return limit.Class is null ? name : $"{name} of {limit.Class}";
    }

    public static string Unit(Measure measure) => measure switch
    {
        Measure.DeviceClockPpm => " ppm",
        Measure.ShortestDwell => " s",
        _ => IsLatency(measure) ? " s" : "",
    };

    public static string Number(double value) => value.ToString("R", CultureInfo.InvariantCulture);

    /// <summary>Four digits, or as many more as it takes to show on which side of the bound the figure lies.</summary>
    public static string Rounded(double figure, double bound)
    {
        for (int digits = 4; digits < 17 && Math.Abs(figure) is > MostPlain and < 1 / MostPlain; digits++)
        {
            string text = figure.ToString("E" + (digits - 1), CultureInfo.InvariantCulture);
            double shown = double.Parse(text, CultureInfo.InvariantCulture);
            if (shown.CompareTo(bound) == figure.CompareTo(bound)) { return Plain(text); }
        }
        return Number(figure);
    }

    /// <summary>Four digits of a bound, away from what it claims: an upper bound up, a lower bound down.</summary>
    public static string RoundedAway(double bound, bool up)
    {
        if (Math.Abs(bound) is not (> MostPlain and < 1 / MostPlain)) { return Number(bound); }
        return RoundedAway(bound, up, Math.Clamp(3 - (int)Math.Floor(Math.Log10(Math.Abs(bound))), 0, 15));
    }

    /// <summary>The same to so many decimals.</summary>
    public static string RoundedAway(double bound, bool up, int decimals)
    {
        var away = up ? MidpointRounding.ToPositiveInfinity : MidpointRounding.ToNegativeInfinity;
        return Plain(decimal.Round((decimal)bound, decimals, away).ToString(CultureInfo.InvariantCulture));
    }

    /// <summary>Without an exponent and without zeros that say nothing.</summary>
    private static string Plain(string scientific)
    {
        decimal value = decimal.Parse(scientific, NumberStyles.Float, CultureInfo.InvariantCulture);
        return value.ToString("0.#########################", CultureInfo.InvariantCulture);
    }
}
