namespace HilRunner.Scoring.Isolating;

/// <summary>
/// Whether something shows often enough, play by play: the sequential probability ratio test (Wald, "Sequential tests of statistical hypotheses", Ann. Math. Statist. 16:117–186, 1945) of the wanted share against a
/// third of it, at 5 % risk either way. A failure that always shows is decided after three plays, one that never does after two.
/// </summary>
/// <param name="wanted">Share of the plays in which it must show, above 0, at most 1.</param>
/// <param name="most">After so many plays without a decision it does not show often enough.</param>
public sealed class RepeatedTest(double wanted, int most = 30)
{
    private const double Risk = 0.05, Certain = 0.95;
    private readonly double _often = Math.Min(wanted, Certain), _seldom = Math.Min(wanted, Certain) / 3;
    private double _ratio;
    private int _plays;

    /// <summary>Null: play again.</summary>
    public bool? Shows =>
        _ratio >= Math.Log((1 - Risk) / Risk) ? true
        : _ratio <= Math.Log(Risk / (1 - Risk)) || _plays >= most ? false
        : null;

    public void Add(bool shown)
    {
        _plays++;
        _ratio += shown ? Math.Log(_often / _seldom) : Math.Log((1 - _often) / (1 - _seldom));
    }
}
