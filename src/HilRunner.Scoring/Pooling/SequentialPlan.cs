using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Pooling;

/// <summary>How a claim on a share recognised is tested trial by trial, fixed before the first.</summary>
/// <param name="Good">Share recognised at which a device should be accepted; above that of the claim.</param>
/// <param name="Risk">α: chance, at most, of refusing such a device. β is what the claim's confidence leaves.</param>
/// <param name="MostTrials">Where it is cut off.</param>
public sealed record SequentialPlan(double Good, double Risk, int MostTrials)
{
    /// <summary>Null: so few trials cannot keep both risks.</summary>
    /// <exception cref="ArgumentException">The claim is none on a share recognised, at least, with a confidence, below <see cref="Good"/>.</exception>
    public SequentialTest? TestOf(Limit claim) => claim is { Measure: Measure.Recognised, AtLeast: > 0 and { } share, Confidence: { } confidence } && share < Good
        ? SequentialTest.Keeping(1 - Good, 1 - share, Risk, 1 - confidence, MostTrials)
        : throw new ArgumentException($"{PooledJudge.Text(claim)}: no claim for a sequential plan, which takes recognised, at_least a share below {Good}, with a confidence", nameof(claim));
}

/// <summary>How a sequential test went, for whoever draws it.</summary>
/// <param name="Test">Its lines and its cut-off.</param>
/// <param name="Failed">By trial, in their order: it counted as a failure. Those after the decision included.</param>
/// <param name="DecidedAt">Trials after which it was decided; null: it was not.</param>
public sealed record SequentialCourse(SequentialTest Test, IReadOnlyList<bool> Failed, int? DecidedAt);
