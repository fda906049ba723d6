namespace HilRunner.Scoring.Comparing;

/// <summary>Which of its two questions the word on a measure rests on.</summary>
public enum Basis
{
    /// <summary>Neither has enough to show a change.</summary>
    None,
    /// <summary>Did it change on these recordings, beyond how it varies from run to run? Whole runs are exchanged.</summary>
    TheseRecordings,
    /// <summary>
    /// Would it be otherwise on motion like this? Independent units are held against each other, taking it that they err
    /// independently though they share runs.
    /// </summary>
    MotionLikeThis,
}

/// <summary>What one of the two questions answers of one measure of one class.</summary>
/// <param name="P">Two-sided, adjusted over the classes of the measure.</param>
/// <param name="Least">The smallest p, not adjusted, that so many runs or units could have had.</param>
public sealed record Answer(double P, double Least)
{
    /// <summary>So many could have shown a change.</summary>
    public bool IsAble => Least <= BuildComparison.Level;
}
