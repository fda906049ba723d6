using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;

namespace HilRunner.Scoring.Tests;

/// <summary>Short ways to write timelines down, in seconds.</summary>
internal static class Inputs
{
    public static StimulusTime S(double seconds) => StimulusTime.FromSeconds((decimal)seconds);

    public static long Ns(double seconds) => S(seconds).Ns;

    public static ReferenceInterval Ref(double start, double end, string name, int? trial = null) => new(S(start), S(end), name, trial);

    public static Decision Says(double at, string name, string output = "") => new(S(at), name, output);

    public static ScoreInput Input(double end, IReadOnlyList<ReferenceInterval> reference, IReadOnlyList<Decision> decisions, ScoringRules? rules = null) =>
        new() { Reference = reference, Decisions = decisions, End = S(end), Rules = rules ?? new() };

    public static OutputScore One(ScoreInput input) => Scorer.Score(input).Outputs.Single();

    /// <summary>The worked example of the scoring definitions (README of HilRunner.Scoring).</summary>
    public static ScoreInput WorkedExample { get; } = Input(60,
        [Ref(0, 10, "resting"), Ref(10, 30, "carried"), Ref(30, 40, "resting"), Ref(40, 60, "conveyed")],
        [Says(2, "resting"), Says(13, "carried"), Says(20, "conveyed"), Says(21, "carried"), Says(33, "resting"), Says(45, "carried"),
            Says(48, "conveyed")]);

    /// <summary>A timeline whose confusion matrix is the given one: each cell a piece of as many seconds, a row's cells in one interval.</summary>
    public static ScoreInput FromMatrix(string[] classes, int[][] matrix)
    {
        var reference = new List<ReferenceInterval>();
        var decisions = new List<Decision>();
        int at = 0;
        for (int r = 0; r < matrix.Length; r++)
        {
            reference.Add(Ref(at, at + matrix[r].Sum(), classes[r]));
            for (int c = 0; c < matrix[r].Length; c++)
            {
                if (matrix[r][c] > 0) { decisions.Add(Says(at, classes[c])); }
                at += matrix[r][c];
            }
        }
        return Input(at, reference.Where(i => i.End > i.Start).ToList(), decisions);
    }
}
