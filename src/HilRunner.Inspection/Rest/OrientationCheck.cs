using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Rest;

/// <summary>Which axis was up, as shares of the still seconds. Says, does not judge: what is right stands in no file.</summary>
internal sealed class OrientationCheck : IRecordingCheck
{
    public string Name => "orientation";

    public CheckResult Of(InspectionContext context)
    {
        if (context.Acceleration is null) { return CheckResult.NotJudged(Name, "needs ax, ay and az"); }
        var still = context.Rest.Still;
        if (still.Length < Thresholds.StillLeast.Value) { return CheckResult.NotJudged(Name, "hardly ever still"); }
        var report = new CheckReport(Name);
        var groups = context.Rest.StillByUp(Thresholds.UpAxis.Value)
            .OrderByDescending(g => g.Value).ThenBy(g => g.Key, StringComparer.Ordinal).ToList();
        foreach (var group in groups)
        {
            report.Figure($"up_{group.Key}", (double)group.Value / still.Length, "of the still time");
        }
        string mounted = context.Recording.Info.Mounting is { } mounting ? $" (mounting as stated: {mounting})" : "";
        return report.Done(
            string.Join(
                ", ", groups.Select(
                    g => $"{(g.Key == UpAxes.Tilted ? "tilted between axes" : g.Key + " up")} {Say.Share((double)g.Value / still.Length)}")) + mounted);
    }
}
