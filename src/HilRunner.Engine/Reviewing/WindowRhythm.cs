namespace HilRunner.Engine.Reviewing;

/// <summary>
/// What the sample numbers of a device that reports every window say: whether windows are missing, and whether they are out of
/// step.
/// </summary>
/// <param name="Period">Samples from one window to the next.</param>
/// <param name="Reported">Windows that were heard.</param>
/// <param name="Missing">Windows between the first and the last that were not heard.</param>
/// <param name="OutOfStep">
/// Windows that began other than a whole number of periods after the one before: samples are missing or came twice.
/// </param>
/// <param name="Twice">Messages that say what the one before them said, of the same sample.</param>
/// <param name="Last">Sample number of the last window.</param>
/// <param name="First">Sample number of the first window.</param>
internal sealed record WindowRhythm(long Period, int Reported, long Missing, int OutOfStep, int Twice, long First, long Last)
{
    /// <summary>Fewer windows show no rhythm.</summary>
    public const int Fewest = 5;
    /// <summary>Share of equal steps from which a period is taken for learnt.</summary>
    private const double EqualSteps = 0.6;

    /// <summary>Null where too few were reported, or no period shows.</summary>
    /// <param name="decisions">Sample numbers and classes of one output's decisions, in the order in which they came.</param>
    /// <param name="period">As the rig says it; null: it is learnt.</param>
    public static WindowRhythm? Of(IReadOnlyList<(long N, string Class)> decisions, long? period)
    {
        long[] numbers = [.. decisions.Select(d => d.N)];
        int twice = decisions.Zip(decisions.Skip(1)).Count(p => p.First == p.Second);
        if (numbers.Length < Fewest) { return null; }
        if ((period ?? Learnt(numbers)) is not { } step || step < 1) { return null; }
        long missing = 0, previous = numbers[0];
        int outOfStep = 0, reported = 1;
        for (int i = 1; i < numbers.Length; i++)
        {
            long gone = numbers[i] - previous;
            if (gone <= 0) { continue; }
            if (gone % step != 0)
            {
                // One more message between two windows, such as an event's, is no window.
                if (i + 1 < numbers.Length && (numbers[i + 1] - previous) % step == 0) { continue; }
                outOfStep++;
            }
            missing += Math.Max(0, gone / step - 1);
            reported++;
            previous = numbers[i];
        }
        return new(step, reported, missing, outOfStep, twice, numbers[0], previous);
    }

    private static long? Learnt(IReadOnlyList<long> numbers)
    {
        long[] steps = [.. numbers.Zip(numbers.Skip(1), (a, b) => b - a).Where(d => d > 0)];
        if (steps.Length == 0) { return null; }
        var commonest = steps.GroupBy(d => d).OrderByDescending(g => g.Count()).ThenBy(g => g.Key).First();
        return commonest.Count() >= EqualSteps * steps.Length ? commonest.Key : null;
    }
}
