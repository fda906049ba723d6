namespace HilRunner.Scoring.Statistics;

internal static class Confidence
{
    public static void Check(double confidence)
    {
        if (!(confidence is > 0 and < 1)) { throw new ArgumentOutOfRangeException(nameof(confidence), confidence, "a confidence lies above 0 and below 1"); }
    }
}
