namespace HilRunner.Inspection.Results;

/// <summary>What one check says of one recording.</summary>
/// <param name="Check">The check's name.</param>
/// <param name="Fitness">The worst of the findings; null: not judged, and the summary says why.</param>
/// <param name="Summary">One line: the figures, or why there are none.</param>
public sealed record CheckResult(string Check, Fitness? Fitness, string Summary, IReadOnlyList<CheckFigure> Figures, IReadOnlyList<Finding> Findings)
{
    public static CheckResult NotJudged(string check, string why) => new(check, null, why, [], []);

    /// <summary>Null where the check has no such figure.</summary>
    public double? Figure(string name) => Figures.FirstOrDefault(f => f.Name == name)?.Value;
}
