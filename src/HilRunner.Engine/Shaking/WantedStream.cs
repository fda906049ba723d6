using HilRunner.Core.Shakers;

namespace HilRunner.Engine.Shaking;

/// <summary>What is wanted of a stream of positions, beside what is measured at them.</summary>
internal sealed class WantedStream(
    IReadOnlyList<double> wantedG, double rateHz, Envelope envelope, double? learningG)
{
    private readonly MotionWatch _watch = new(wantedG, rateHz, envelope.FromHz, envelope.ToHz, learningG);

    private const double BlockS = 0.5;

    /// <summary>Of how many positions what was measured has been judged.</summary>
    public int Taken { get; private set; }

    /// <param name="measuredG">At the next positions, in g.</param>
    /// <returns>Why the table must be stopped; null: it does what is wanted.</returns>
    public string? Take(double[] measuredG)
    {
        Taken += measuredG.Length;
        return _watch.Take(measuredG);
    }

    /// <summary>
    /// The least of what was wanted lately, of each half second its largest, in g: where a controller does not say what it
    /// measures at each position, its status is held against that. 0 before so much was played.
    /// </summary>
    public double LeastLatelyG(long played, double seenS)
    {
        int block = (int)(BlockS * rateHz), blocks = (int)Math.Ceiling(seenS / BlockS);
        if (played < (long)block * blocks || played > wantedG.Count) { return 0; }
        double least = double.PositiveInfinity;
        for (int b = 0; b < blocks; b++)
        {
            double most = 0;
            for (int k = 0; k < block; k++) { most = Math.Max(most, Math.Abs(wantedG[(int)played - 1 - b * block - k])); }
            least = Math.Min(least, most);
        }
        return least;
    }

    /// <summary>The largest that is wanted about now; what is measured lags, and so does what is said to be played.</summary>
    public double LatelyG(long played, double lagS)
    {
        long lag = (long)(lagS * rateHz);
        double most = (learningG ?? 0) * Math.Sqrt(2);
        for (long k = Math.Max(0, played - lag); k <= Math.Min(wantedG.Count - 1, played + lag); k++)
        {
            most = Math.Max(most, Math.Abs(wantedG[(int)k]));
        }
        return most;
    }
}
