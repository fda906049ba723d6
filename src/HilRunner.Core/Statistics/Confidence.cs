namespace HilRunner.Core.Statistics;

/// <summary>How sure a bound is: above 0, below 1.</summary>
public static class Confidence
{
    /// <exception cref="ArgumentOutOfRangeException">Not above 0 and below 1.</exception>
    public static void Check(double confidence)
    {
        if (!(confidence is > 0 and < 1)) { throw new ArgumentOutOfRangeException(nameof(confidence), confidence, "a confidence lies above 0 and below 1"); }
    }
}
