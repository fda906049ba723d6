using System.Globalization;
using HilRunner.Core.Sweeps;
using HilRunner.Scoring;
using HilRunner.Scoring.Sweeping;

namespace HilRunner.Reporting;

/// <summary>A sweep in words.</summary>
public static class SweepWords
{
    public static string Of(SweepMeasure measure) => measure switch
    {
        SweepMeasure.SwitchUp => "switch up",
        SweepMeasure.SwitchDown => "switch down",
        _ => "hysteresis width",
    };

    /// <summary>"56.9 mg [54.2, 59.6]"</summary>
    public static string Figure(MeanInterval? figure, Sweep sweep) => figure is { } f
        ? $"{Number(f.Mean, sweep.Digits)} {sweep.Along.Unit} [{Number(f.Interval.Low, sweep.Digits)}, {Number(f.Interval.High, sweep.Digits)}]" : Reporting.Figure.Absent;

    /// <summary>What the width says: that there is hysteresis, or how much could be hidden.</summary>
    public static string Width(Switch found, Sweep sweep)
    {
        if (found.Width is not { } w) { return "no loop reached it both ways"; }
        return !found.HasHysteresis ? $"none shown; at most {Most(found, sweep)} {sweep.Along.Unit}" : w.Mean > 0 ? Figure(w, sweep) : $"{Figure(w, sweep)}: it switches back above where it switched";
    }

    /// <summary>The widest hysteresis that is not excluded, without its unit.</summary>
    public static string Most(Switch found, Sweep sweep) => found.Width is { } w ? Number(Math.Max(Math.Abs(w.Interval.Low), Math.Abs(w.Interval.High)), sweep.Digits) : Reporting.Figure.Absent;

    public static string Level(decimal level, Sweep sweep) => $"{Number((double)level, sweep.Digits + 1)} {sweep.Along.Unit}";

    /// <summary>"at 16 Hz"; "" where nothing has several values.</summary>
    public static string At(decimal? across, Sweep sweep) => across is { } at && sweep.Across is { } axis ? $"{at.ToString("0.######", CultureInfo.InvariantCulture)} {axis.Unit}" : "";

    /// <summary>"switch up to conveyed at 16 Hz: 56.9 mg [54.2, 59.6], wanted 50 to 60 mg".</summary>
    public static string Sentence(SweepLimitOutcome outcome, Sweep sweep)
    {
        string at = At(outcome.Point, sweep), where = at.Length > 0 ? $" at {at}" : "", what = outcome.Switch is { } s ? $", {s}" : outcome.Limit.Class is { } c ? $" to {c}" : "";
        string found = outcome.Figure is null ? "" : $" {Figure(outcome.Figure, sweep)}";
        return $"{Of(outcome.Limit.Measure)}{what}{where}:{found}{(found.Length > 0 ? "," : "")} wanted {Bound(outcome.Limit, sweep)}{(outcome.Why.Length > 0 ? $"; {outcome.Why}" : "")}";
    }

    public static string Bound(SweepLimit limit, Sweep sweep)
    {
        string Value(decimal v) => $"{v.ToString("0.######", CultureInfo.InvariantCulture)} {sweep.Along.Unit}";
        return (limit.AtLeast, limit.AtMost) switch
        {
            ({ } least, { } most) => $"{Value(least)} to {Value(most)}",
            ({ } least, _) => $"at least {Value(least)}",
            (_, { } most) => $"at most {Value(most)}",
            _ => "",
        };
    }

    /// <summary>"20 mg to 200 mg by 10 mg".</summary>
    public static string Range(Sweep sweep)
    {
        string N(decimal v) => v.ToString("0.######", CultureInfo.InvariantCulture) + " " + sweep.Along.Unit;
        return $"{N(sweep.Along.From)} to {N(sweep.Along.To)} by {N(sweep.Along.By)}";
    }

    public static string Word(Outcome outcome) => outcome switch { Outcome.Held => "held", Outcome.Broken => "broken", _ => "open" };

    /// <summary>"sharp, between 54.1 and 55.3 mg"; or the share's rise.</summary>
    public static string Curve(ResponseCurve? curve, Sweep sweep)
    {
        if (curve is not { } c) { return Reporting.Figure.Absent; }
        string interval = $"{Number(c.MidpointInterval.Low, sweep.Digits)} to {Number(c.MidpointInterval.High, sweep.Digits)} {sweep.Along.Unit}";
        if (c.Slope is not { } slope) { return $"sharp, between {interval}"; }
        // From a quarter to three quarters of the trials: 2 ln 3 / slope.
        return $"half at {Number(c.Midpoint, sweep.Digits)} {sweep.Along.Unit} [{interval}], from a quarter to three quarters within {Number(2 * Math.Log(3) / slope, sweep.Digits)} {sweep.Along.Unit}";
    }

    /// <summary>"peak 20 mg to 200 mg by 10 mg, 5 loops, 6 s a level".</summary>
    public static string Course(Sweep sweep)
    {
        return $"{sweep.Along.Title} {Range(sweep)}, {sweep.Loops} {(sweep.Loops == 1 ? "loop" : "loops")}, {sweep.DwellS.ToString("0.###", CultureInfo.InvariantCulture)} s a level";
    }

    /// <summary>"switch up, resting to conveyed at 16 Hz".</summary>
    public static string Name(SwitchShift shift, Sweep sweep)
    {
        string at = At(shift.Across, sweep);
        return $"{Of(shift.Measure)}, {shift.Below} to {shift.Above}{(at.Length > 0 ? $" at {at}" : "")}";
    }

    public static string Shift(SwitchShift shift, Sweep sweep) => shift.Change is { } c
        ? $"{(c.Shift > 0 ? "+" : "")}{Number(c.Shift, sweep.Digits)} {sweep.Along.Unit} [{Number(c.Interval.Low, sweep.Digits)}, {Number(c.Interval.High, sweep.Digits)}]" : Reporting.Figure.Absent;

    public static string P(SwitchShift shift) => shift.Change is { } c ? c.P < 0.0001 ? "<0.0001" : c.P.ToString("0.0000", CultureInfo.InvariantCulture) : Reporting.Figure.Absent;

    public static string Answered(SweepCompareResult result) => result.AnyShifted ? "moved" : result.TooFew ? "too few" : "none shown";

    public static string Number(double value, int digits) => Reporting.Figure.Decimals(value, digits);
}
