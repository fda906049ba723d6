using HilRunner.Inspection.Results;

namespace HilRunner.Inspection.Labels;

/// <summary>The least time of a class as a share of the largest class's, momentary and unscored classes apart; and the share of time without a label.</summary>
internal sealed class BalanceCheck : IRecordingCheck
{
    public string Name => "class balance";

    public CheckResult Of(InspectionContext context)
    {
        var segments = context.Segments;
        if (segments.All.Count == 0) { return CheckResult.NotJudged(Name, "no labels"); }
        var options = context.Options;
        var report = new CheckReport(Name);
        var classes = segments.ByClass.Keys.Where(c => !options.Momentary.Contains(c) && !options.Unscored.Contains(c))
            .Select(c => (Class: c, Seconds: segments.NsOf(c) / 1e9)).OrderByDescending(c => c.Seconds).ThenBy(c => c.Class, StringComparer.Ordinal).ToList();
        double total = context.Axis.EndNs / 1e9, labelled = Covered(segments.All) / 1e9;
        var unlabelled = report.Figure("unlabelled", 1 - labelled / total, "of the recording");
        var said = new List<string>();
        if (classes.Count > 1)
        {
            var (rarest, seconds) = classes[^1];
            var balance = report.Figure("balance", seconds / classes[0].Seconds, "of the largest class's time");
            said.Add($"{Say.Count(classes.Count, "class", "classes")}, {rarest} least with {Say.Seconds(seconds)} ({Say.Share(balance.Value ?? 0)} of {classes[0].Class})");
            if (balance.Value < Thresholds.BalanceCare.Value)
            {
                report.Find("unbalanced", Fitness.WithCare, $"{rarest} has {Say.Seconds(seconds)} beside {Say.Seconds(classes[0].Seconds)} of {classes[0].Class}", balance,
                    "record more of it; until then look at figures by class and by trial, not at shares of time");
            }
        }
        else { said.Add(classes.Count == 1 ? $"one class, {classes[0].Class}" : "momentary classes only"); }
        if (unlabelled.Value > Thresholds.UnlabelledCare.Value)
        {
            report.Find("unlabelled", Fitness.WithCare, $"{Say.Share(unlabelled.Value ?? 0)} of the recording has no label", unlabelled, "label the rest, or cut the recording to what is labelled");
        }
        said.Add($"{Say.Share(unlabelled.Value ?? 0)} unlabelled");
        return report.Done(string.Join(", ", said));
    }

    private static long Covered(IReadOnlyList<Segment> ordered)
    {
        long covered = 0, reached = 0;
        foreach (var s in ordered)
        {
            covered += Math.Max(0, s.EndNs - Math.Max(reached, s.StartNs));
            reached = Math.Max(reached, s.EndNs);
        }
        return covered;
    }
}
