using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>A test whose p is asked for, and the least that it could have been whatever had come out.</summary>
/// <param name="Least">Given what was seen of both builds together.</param>
internal readonly record struct Tested(double P, double Least);

/// <summary>One measure of one class, asked in both ways.</summary>
/// <param name="Here">Whole runs exchanged.</param>
/// <param name="HereAtBest">The least p that so many runs can have.</param>
/// <param name="Beyond">Independent units.</param>
/// <param name="BeyondAtBest">The least p that so many units can have.</param>
internal sealed record Question(Tested Here, double HereAtBest, Tested Beyond, double BeyondAtBest);

/// <summary>What a question ended in.</summary>
internal sealed record Decided(Basis Basis, double P, Answer Here, Answer Beyond)
{
    public bool IsChanged => Basis != Basis.None && P <= BuildComparison.Level;
}

/// <summary>
/// One measure over its classes. Each class rests on the exchange of runs where there are runs enough to show a change of one
/// class of so many, else on its units; p is adjusted after Holm over those classes that could be found changed at all (Tarone,
/// Biometrics 46:515–522, 1990): the others can raise no false alarm, and take nothing from them.
/// </summary>
internal static class Family
{
    /// <param name="runsOnly">Trials of a run are no independent evidence (see <see
    /// cref="SharedScenario.HangTogether"/>).</param>
    public static IReadOnlyList<Decided> Decide(IReadOnlyList<Question> classes, Lazy<bool> runsOnly)
    {
        Basis[] basis = [.. classes.Select(c => BasisOf(c, classes.Count, runsOnly))];
        var here = Adjust([.. classes.Select(c => c.Here)]);
        var beyond = Adjust([.. classes.Select(c => c.Beyond)]);
        var deciding = Adjust([.. classes.Select((c, i) => basis[i] == Basis.TheseRecordings ? c.Here : c.Beyond)]);
        return [.. classes.Select((c, i) => new Decided(
            basis[i], deciding[i], new(here[i], c.HereAtBest), new(beyond[i], c.BeyondAtBest)))];
    }

    private static Basis BasisOf(Question asked, int classes, Lazy<bool> runsOnly)
    {
        if (asked.HereAtBest <= BuildComparison.Level / classes) { return Basis.TheseRecordings; }
        if (asked.BeyondAtBest <= BuildComparison.Level && !runsOnly.Value) { return Basis.MotionLikeThis; }
        return asked.HereAtBest <= BuildComparison.Level ? Basis.TheseRecordings : Basis.None;
    }

    public static IReadOnlyList<double> Adjust(IReadOnlyList<Tested> tests)
    {
        int k = 1;
        bool Able(int i) => tests[i].Least <= BuildComparison.Level / k;
        while (Enumerable.Range(0, tests.Count).Count(Able) > k) { k++; }
        int[] able = [.. Enumerable.Range(0, tests.Count).Where(Able)];
        // What is not able stays above the level: its p is more than a k-th of it.
        double[] adjusted = [.. tests.Select(t => Math.Min(1, t.P * k))];
        var holm = Holm.Adjust([.. able.Select(i => tests[i].P)]);
        for (int i = 0; i < able.Length; i++) { adjusted[able[i]] = holm[i]; }
        return adjusted;
    }
}
