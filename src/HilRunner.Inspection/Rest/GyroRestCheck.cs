using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Rest;

/// <summary>Turning rate while the acceleration is still: the median over the still seconds of each axis' mean.</summary>
internal sealed class GyroRestCheck : IRecordingCheck
{
    public string Name => "turning rate at rest";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Gyro is not { } gyro) { return CheckResult.NotJudged(Name, "no gx, gy and gz"); }
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az to know when it was still"); }
        var still = context.Rest.Still;
        if (still.Length < Thresholds.StillLeast.Value) { return CheckResult.NotJudged(Name, "hardly ever still"); }
        var report = new CheckReport(Name);
        double worst = 0;
        for (int axis = 0; axis < 3; axis++)
        {
            var values = gyro[axis];
            double offset = Statistics.Median(still.Select(w => Mean(values.Read(w.From, w.To - w.From))));
            report.Figure($"offset_g{"xyz"[axis]}", offset, "°/s");
            if (Math.Abs(offset) > Math.Abs(worst)) { worst = offset; }
        }
        var figure = report.Figure("offset_worst", worst, "°/s");
        string text = $"{Say.Number(worst)} °/s on the farthest axis";
        if (Math.Abs(worst) > Thresholds.GyroCare.Value)
        {
            report.Find("gyro_offset", Math.Abs(worst) > Thresholds.GyroUnfit.Value ? Fitness.Unfit : Fitness.WithCare, text, figure,
                "take the mean of a still stretch off every axis, and check the unit (°/s or rad/s)");
        }
        return report.Done(text);
    }

    private static double Mean(ReadOnlySpan<double> values)
    {
        double sum = 0;
        foreach (double v in values) { sum += v; }
        return sum / values.Length;
    }
}
