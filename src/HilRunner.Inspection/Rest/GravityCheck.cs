using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Rest;

/// <summary>
/// |a| at rest against 1 g: the median length of the mean vector of the still seconds, over all and for each axis that was up.
/// The farthest group decides. Where nothing is still, the quietest tenth is only held against a wrong unit (beyond a factor of two).
/// </summary>
internal sealed class GravityCheck : IRecordingCheck
{
    public string Name => "gravity";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        var report = new CheckReport(Name);
        if (WrongUnit(context, report)) { return report.Done(report.Findings[0].What); }
        var still = context.Rest.Still;
        if (still.Length < Thresholds.StillLeast.Value)
        {
            return CheckResult.NotJudged(Name, "hardly ever still: no second in which every axis keeps within 20 mg");
        }
        double all = Statistics.Median(still.Select(w => w.Mean.Length));
        report.Figure("rest_g", all, "g");
        report.Figure("still_s", still.Sum(w => (double)(w.To - w.From)) / context.RateHz, "s");
        string worstUp = "";
        double worst = all;
        IEnumerable<SecondWindow> worstWindows = still;
        foreach (var (up, count) in context.Rest.StillByUp(Thresholds.UpAxis.Value))
        {
            if (count < Thresholds.StillLeast.Value) { continue; }
            var group = still.Where(w => UpAxes.Of(w.Mean, Thresholds.UpAxis.Value) == up);
            double median = Statistics.Median(group.Select(w => w.Mean.Length));
            report.Figure($"rest_g_{up}", median, "g");
            if (Math.Abs(median - 1) <= Math.Abs(worst - 1)) { continue; }
            (worst, worstUp, worstWindows) = (median, up == UpAxes.Tilted ? " while tilted" : $" with {up} up", group);
        }
        string text = $"{Say.Fixed(worst, 4)} g at rest{worstUp}" + (worstUp.Length > 0 ? $", {Say.Fixed(all, 4)} g over all" : "");
        double off = Math.Abs(worst - 1);
        if (off > Thresholds.GravityCare.Value)
        {
            report.Find("gravity_off", off > Thresholds.GravityUnfit.Value ? Fitness.Unfit : Fitness.WithCare, text, report.Figure("rest_off_g", worst - 1, "g"),
                "calibrate the sensor (six positions) and correct the recording, or keep thresholds this far away from 1 g", Places(context, worstWindows));
        }
        return report.Done(text);
    }

    private static bool WrongUnit(InspectionContext context, CheckReport report)
    {
        var quiet = context.Rest.Quietest;
        if (quiet.Length < Thresholds.StillLeast.Value) { return false; }
        double g = Statistics.Median(quiet.Select(w => w.Mean.Length));
        string remedy = g switch
        {
            > 4.9 and < 19.6 => "these look like m/s² under a header or format of g: name the columns ax_mps2 …",
            > 0.05 and < 0.2 => "these look like g under a header or format of m/s²: name the columns ax_g …",
            > 500 and < 2000 => "these look like mg under a header or format of g: name the columns ax_mg …",
            < 0.05 => "gravity is missing: record the raw acceleration, not a linear one with gravity taken out",
            _ => "check the unit, the range and the scale of the columns",
        };
        if (g is > 0.5 and < 2) { return false; }
        report.Find("wrong_unit", Fitness.Unfit, $"|a| is {Say.Number(g)} g in the quietest seconds", report.Figure("rest_g", g, "g"), remedy);
        return true;
    }

    private static PlaceList Places(InspectionContext context, IEnumerable<SecondWindow> windows)
    {
        var places = new PlaceList();
        int from = -1, to = -1;
        foreach (var window in windows)
        {
            if (window.From != to)
            {
                if (from >= 0) { places.Add(context.Axis.At(from), context.Axis.AtOrEnd(to)); }
                from = window.From;
            }
            to = window.To;
        }
        if (from >= 0) { places.Add(context.Axis.At(from), context.Axis.AtOrEnd(to)); }
        return places;
    }
}
