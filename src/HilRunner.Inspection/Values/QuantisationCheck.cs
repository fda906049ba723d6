using HilRunner.Core.Files;
using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Values;

/// <summary>
/// The step between neighbouring values that occur: the smallest difference q for which nearly all differences of neighbours are whole
/// multiples of q. None where the values lie on no grid (floating point after filtering): then resolution is no limit.
/// </summary>
internal sealed class QuantisationCheck : IRecordingCheck
{
    private const double OnGrid = 0.98, GridTolerance = 0.05;
    private const int LeastValues = 4;

    public string Name => "quantisation";

    public CheckResult Of(InspectionContext context)
    {
        var report = new CheckReport(Name);
        var recording = context.Recording;
        var said = new List<string>();
        double coarsest = 0;
        for (int c = 0; c < recording.Channels.Count; c++)
        {
            string name = recording.ChannelNames[c];
            bool acceleration = InspectionContext.IsAcceleration(name);
            double? step = StepOf(recording.Channels[c]);
            report.Figure($"step_{name}", step, acceleration ? "g" : "°/s");
            said.Add($"{name} {(step is { } s ? acceleration ? Say.G(s) : Say.Number(s) + " °/s" : "no grid")}");
            if (acceleration && step > coarsest) { coarsest = step.Value; }
        }
        if (coarsest > Thresholds.QuantisationCare.Value)
        {
            report.Find("coarse", coarsest > Thresholds.QuantisationUnfit.Value ? Fitness.Unfit : Fitness.WithCare, $"values lie {Say.G(coarsest)} apart",
                report.Figure("coarsest_step", coarsest, "g"), "record with a smaller range, more bits, or without rounding in the log");
        }
        return report.Done(string.Join(", ", said));
    }

    /// <summary>Null: no grid, or too few different values to tell.</summary>
    internal static double? StepOf(Series<double> values)
    {
        var sorted = Statistics.Sampled(values);
        sorted.Sort();
        if (sorted.Count == 0) { return null; }
        // What differs by less is the same number, written or converted in two ways.
        double nothing = 1e-7 * Math.Max(1, Math.Max(Math.Abs(sorted[0]), Math.Abs(sorted[^1])));
        var differences = new List<double>();
        for (int i = 1; i < sorted.Count; i++)
        {
            double d = sorted[i] - sorted[i - 1];
            if (d > nothing) { differences.Add(d); }
        }
        if (differences.Count < LeastValues) { return null; }
        differences.Sort();
        double step = differences[differences.Count / 50];
        long onGrid = differences.Count(d => Math.Abs(d / step - Math.Round(d / step)) < GridTolerance && d > step / 2);
        if (onGrid < OnGrid * differences.Count) { return null; }
        var single = differences.Where(d => Math.Round(d / step) == 1).ToList();
        return single[single.Count / 2];
    }
}
