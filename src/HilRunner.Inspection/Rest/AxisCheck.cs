using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Rest;

/// <summary>
/// Offset and scale of an axis that stood vertical (within 18°) both ways, as in the six-position method. At each position the axis should read ±√(1 −
/// u² − v²) with u, v the other two axes; e₊ and e₋ are the median errors. Offset = (e₊ + e₋)/2, scale − 1 = (e₊ − e₋)/2.
/// Limits: errors of the other axes enter with up to a third of their size (sin 18°), cross-axis sensitivity is taken for tilt, and nothing is
/// said of an axis that was up one way only: there offset and scale cannot be told apart.
/// </summary>
internal sealed class AxisCheck : IRecordingCheck
{
    public string Name => "offset and scale by axis";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        var report = new CheckReport(Name);
        var said = new List<string>();
        for (int axis = 0; axis < 3; axis++)
        {
            string name = "a" + "xyz"[axis];
            if (Error(context, axis, +1) is not { } plus || Error(context, axis, -1) is not { } minus) { continue; }
            double offset = (plus + minus) / 2, scale = (plus - minus) / 2;
            said.Add($"{name} offset {Say.G(offset)}, scale {Say.Fixed(1 + scale, 4)}");
            Judge(report, report.Figure($"offset_{name}", offset, "g"), $"{name} has an offset of {Say.G(offset)}", "axis_offset");
            Judge(report, report.Figure($"scale_{name}", scale, "of 1"), $"{name} has a scale of {Say.Fixed(1 + scale, 4)}", "axis_scale");
        }
        return said.Count == 0
            ? CheckResult.NotJudged(Name, "no axis stood vertical both ways while still")
            : report.Done(string.Join("; ", said));
    }

    private static void Judge(CheckReport report, CheckFigure figure, string what, string kind)
    {
        double size = Math.Abs(figure.Value ?? 0);
        if (size <= Thresholds.AxisCare.Value) { return; }
        report.Find(kind, size > Thresholds.AxisUnfit.Value ? Fitness.Unfit : Fitness.WithCare, what, figure, "calibrate the sensor and correct the recording by it");
    }

    private static double? Error(InspectionContext context, int axis, int sign)
    {
        string up = (sign < 0 ? "-" : "+") + "xyz"[axis];
        if (context.Rest.StillByUp(Thresholds.AxisVertical.Value).GetValueOrDefault(up) < Thresholds.StillLeast.Value)
        {
            return null;
        }
        return Statistics.Median(context.Rest.Still.Where(w => UpAxes.Of(w.Mean, Thresholds.AxisVertical.Value) == up).Select(w =>
        {
            double u = w.Mean[(axis + 1) % 3], v = w.Mean[(axis + 2) % 3];
            return w.Mean[axis] - sign * Math.Sqrt(Math.Max(0, 1 - u * u - v * v));
        }));
    }
}
