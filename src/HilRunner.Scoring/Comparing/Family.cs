using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>
/// p values of one measure over its classes, adjusted after Holm over those that could be found changed at all: a class in which fewer trials changed than can show
/// anything at the level can raise no false alarm, and takes nothing from the others (Tarone, Biometrics 46:515–522, 1990).
/// </summary>
internal static class Family
{
    /// <param name="tests">p, and the trials that changed, whose number bounds p from below: 2 · ½ⁿ.</param>
    public static IReadOnlyList<double> Adjust(IReadOnlyList<(double P, int Changed)> tests)
    {
        int fewest = McNemar.FewestThatShow(BuildComparison.Level);
        double[] adjusted = [.. tests.Select(t => t.P)];
        int[] able = [.. Enumerable.Range(0, tests.Count).Where(i => tests[i].Changed >= fewest)];
        var holm = Holm.Adjust([.. able.Select(i => tests[i].P)]);
        for (int i = 0; i < able.Length; i++) { adjusted[able[i]] = holm[i]; }
        return adjusted;
    }
}
