using HilRunner.Scoring.Pooling;

namespace HilRunner.Reporting.SuitePage;

/// <summary>One class of one output over the runs of a suite that count.</summary>
/// <param name="Units">Independent trials: see <see cref="TrialUnit"/>.</param>
/// <param name="UnitsRecognised">Those of which every play was recognised.</param>
/// <param name="Plays">Trials, repeats and variations counted each.</param>
/// <param name="Repeated">Trials that were played more than once, in the same scenario at the same values.</param>
/// <param name="Steady">Those of them that came out the same each time.</param>
internal sealed record ClassCount(string Output, string Class, int UnitsRecognised, int Units, int PlaysRecognised, int Plays, int Repeated, int Steady)
{
    public static IReadOnlyList<ClassCount> Of(IReadOnlyList<SuiteRun> runs) =>
    [
        .. runs.Where(r => r.Counts).SelectMany(run => run.Played.Select(trial => (Run: run, Trial: trial)))
            .GroupBy(t => (t.Trial.Output, t.Trial.Score.Class))
            .OrderBy(g => g.Key.Output, StringComparer.Ordinal).ThenBy(g => g.Key.Class, StringComparer.Ordinal)
            .Select(g => Count(g.Key.Output, g.Key.Class, [.. g.Where(t => t.Trial.Score.Counted)])),
    ];

    private static ClassCount Count(string output, string name, List<(SuiteRun Run, PlayedTrial Trial)> plays)
    {
        var units = TrialUnit.Of(plays.Select(p => p.Trial));
        var repeated = FlippedTrial.Repeated(plays).ToList();
        return new(output, name, units.Count(u => u.Plays.All(p => p.Score.Recognised)), units.Count, plays.Count(p => p.Trial.Score.Recognised), plays.Count,
            repeated.Count, repeated.Count(r => r.Steady));
    }
}
