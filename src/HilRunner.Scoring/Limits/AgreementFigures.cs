using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring.Limits;

/// <summary>Recall, precision and F1 of a class, or of all classes together: their durations pooled.</summary>
internal static class AgreementFigures
{
    public static Figure Of(Measure measure, string? c, Agreement agreement)
    {
        if (c is not null)
        {
            if (!agreement.PerClass.TryGetValue(c, out var figures)) { return Figure.Undefined($"no time of {c} is scored"); }
            return measure switch
            {
                Measure.Recall => Figure.Of(figures.Recall, $"no time of {c} is scored"),
                Measure.Precision => Figure.Of(figures.Precision, $"{c} was never observed"),
                _ => Figure.Of(figures.F1, $"{c} was neither expected nor observed"),
            };
        }

        long right = 0;
        long said = 0;
        foreach (var (reference, row) in agreement.ConfusionNs)
        {
            foreach (var (observed, ns) in row)
            {
                if (observed == reference) { right += ns; }
                if (observed != ObservedTimeline.None) { said += ns; }
            }
        }
        long expected = agreement.ScoredNs;
        return measure switch
        {
            Measure.Recall => Ratio(right, expected, "no time is scored"),
            Measure.Precision => Ratio(right, said, "no class was observed"),
            _ => Ratio(2 * (double)right, (double)expected + said, "no time is scored"),
        };
    }

    private static Figure Ratio(double numerator, double denominator, string whyNull) =>
        denominator == 0 ? Figure.Undefined(whyNull) : Figure.Exact(numerator / denominator);
}
