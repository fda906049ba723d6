namespace HilRunner.Scoring.Statistics;

/// <summary>
/// The runs of one scenario on two builds. If the builds are alike, any of them might as well have been the others'.
/// </summary>
/// <param name="Before">Runs on the baseline; they come first.</param>
/// <param name="Now">Runs on the candidate.</param>
/// <param name="Shift">
/// Candidate less baseline, for a choice of runs that are taken to be the candidate's: as many flags as there are runs.
/// </param>
public sealed record PermutedRuns(int Before, int Now, Func<bool[], double> Shift)
{
    /// <summary>Which runs are the candidate's.</summary>
    public bool[] AsPlayed() => [.. Enumerable.Repeat(false, Before), .. Enumerable.Repeat(true, Now)];
}

/// <summary>
/// Whole runs are exchanged between two builds, within each scenario (Fisher, The Design of Experiments, 1935; Pitman, Suppl. J.
/// R. Stat. Soc. 4:119–130, 1937). A run keeps its trials, so what they share in a run is no matter, nor how many runs each build
/// has.
/// </summary>
public static class RunPermutation
{
    /// <summary>Arrangements of one scenario that are tried one by one.</summary>
    private const int MostArrangements = 20_000;

    /// <param name="seed">Of the draws, where arrangements are too many to try each.</param>
    public static ArrangementTest Test(IReadOnlyList<PermutedRuns> scenarios, int seed)
    {
        ArgumentNullException.ThrowIfNull(scenarios);
        return Arrangements.Test(scenarios.Sum(s => s.Shift(s.AsPlayed())), [.. scenarios.Select(Part)], seed);
    }

    /// <summary>The smallest two-sided p that so many runs can have, whatever comes out; 1: nothing can be shown.</summary>
    public static double Least(IEnumerable<(int Before, int Now)> scenarios)
    {
        double logChoices = 0;
        bool balanced = true;
        foreach (var (before, now) in scenarios)
        {
            if (before == 0 || now == 0) { continue; }
            logChoices += MathNet.Numerics.SpecialFunctions.BinomialLn(before + now, now);
            balanced &= before == now;
        }
        // With as many runs on both, each arrangement has an opposite that lies as far out.
        // Rounding must not take one of twenty for more than 5 %.
        return Math.Min(1, (balanced ? 2 : 1) * Math.Exp(-logChoices) * (1 - 1e-12));
    }

    /// <summary>Runs of each scenario on each build from which on a change could be shown; null: more than ten.</summary>
    public static int? RunsFor(int scenarios, double level)
    {
        for (int runs = 1; runs <= 10; runs++)
        {
            if (Least(Enumerable.Repeat((runs, runs), scenarios)) <= level) { return runs; }
        }
        return null;
    }

    private static ArrangedPart Part(PermutedRuns runs)
    {
        double count = Math.Exp(MathNet.Numerics.SpecialFunctions.BinomialLn(runs.Before + runs.Now, runs.Now));
        if (count <= MostArrangements)
        {
            double[] values = [.. Choices(runs.Before + runs.Now, runs.Now).Select(runs.Shift)];
            var all = Arrangements.Merged([.. values.Select(v => (v, 1.0 / values.Length))]);
            return new(all, random => values[random.Next(values.Length)]);
        }
        return new(null, random =>
        {
            bool[] isNow = runs.AsPlayed();
            random.Shuffle(isNow);
            return runs.Shift(isNow);
        });
    }

    /// <summary>Every choice of k of n. The array is the same one each time.</summary>
    private static IEnumerable<bool[]> Choices(int n, int k)
    {
        bool[] chosen = new bool[n];
        int[] at = [.. Enumerable.Range(0, k)];
        while (true)
        {
            Array.Clear(chosen);
            foreach (int i in at) { chosen[i] = true; }
            yield return chosen;
            int move = k - 1;
            while (move >= 0 && at[move] == n - k + move) { move--; }
            if (move < 0) { yield break; }
            at[move]++;
            for (int i = move + 1; i < k; i++) { at[i] = at[i - 1] + 1; }
        }
    }
}
