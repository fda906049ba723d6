using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Reference;

/// <summary>
/// Axes and signs against a reference of the same mounting. Over the classes that both recordings have (else over the whole), the root mean square misfit
/// of mean and covariance in each of the 48 ways to name the axes. An exchange is called when the axes as they are misfit by 0.3 g
/// or more and another naming leaves at most 0.4 of that. Limits: a direction in which nothing is felt cannot be told;
/// a device that was really mounted otherwise looks the same as a swapped column.
/// </summary>
internal sealed class ReferenceCheck : IRecordingCheck
{
    /// <summary>Namings that fit within this factor of the best are as good: the one that changes least is said.</summary>
    private const double AsGood = 1.1;

    public string Name => "axes against the reference";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Options.Reference is not { } reference) { return CheckResult.NotJudged(Name, "no reference is given (--reference)"); }
        var own = ClassMoments.Of(context);
        var right = ClassMoments.Of(new InspectionContext(reference, context.Options));
        string[] shared = [.. own.Keys.Where(k => k.Length > 0 && right.ContainsKey(k) && !context.Options.Unscored.Contains(k))];
        if (shared.Length == 0 && own.ContainsKey("") && right.ContainsKey("")) { shared = [""]; }
        if (shared.Length == 0) { return CheckResult.NotJudged(Name, "needs ax, ay and az in both recordings"); }
        double Misfit(AxisExchange e) => Math.Sqrt(shared.Average(c => own[c].Misfit(e, right[c])));
        var report = new CheckReport(Name);
        double asIs = Misfit(AxisExchange.All[0]), least = AxisExchange.All.Min(Misfit);
        var best = AxisExchange.All.First(e => Misfit(e) <= least * AsGood);
        var figure = report.Figure("misfit", asIs, "g");
        report.Figure("least_misfit", least, "g");
        string over = shared[0].Length == 0 ? "over the whole" : $"over {Say.Count(shared.Length, "class", "classes")}";
        if (asIs < Thresholds.ReferenceMisfit.Value || least > Thresholds.ReferenceGain.Value * asIs)
        {
            return report.Done($"misfit {Say.G(asIs)} {over}; no other naming of the axes fits much better");
        }
        string turned = best.IsRotation ? "a quarter or half turn of the device does the same" : "no turn of the device does that";
        string what = $"looks like {reference.Name} with {best.Said}: misfit {Say.G(least)} instead of {Say.G(asIs)}; {turned}";
        report.Find("axes_exchanged", best.IsRotation ? Fitness.WithCare : Fitness.Unfit, what, figure,
            best.IsRotation ? "look at the mounting and at the order of the columns; where it was turned, rotate it back" : "correct the order or the signs of the columns");
        return report.Done(what);
    }
}
