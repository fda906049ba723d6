using System.Security.Cryptography;
using System.Text;
using HilRunner.Scoring.Pooling;
using HilRunner.Scoring.Statistics;

namespace HilRunner.Scoring.Comparing;

/// <summary>A trial of a scenario that both builds played, with each run's play of it.</summary>
/// <param name="Plays">By run, the baseline's first; null: not counted in that run.</param>
/// <param name="Motion">What was played.</param>
internal sealed record SharedTrial(TrialKey Key, TrialMotion Motion, TrialScore?[] Plays);

/// <summary>The runs of one scenario and motion on two builds.</summary>
internal sealed class SharedScenario
{
    private SharedScenario(IReadOnlyList<ComparedRun> before, IReadOnlyList<ComparedRun> now, int seed)
    {
        (Before, Now) = (before.Count, now.Count);
        Runs = [.. before, .. now];
        Even = Evened(seed);
        Trials = [.. TrialsOf(Runs)];
    }

    /// <summary>The baseline's first.</summary>
    public IReadOnlyList<ComparedRun> Runs { get; }
    public int Before { get; }
    public int Now { get; }
    public IReadOnlyList<SharedTrial> Trials { get; }

    /// <summary>
    /// Runs of which there are as many of the one build as of the other, the rest left out by lot: only then is a difference as
    /// likely of one sign as of the other, if nothing changed.
    /// </summary>
    public bool[] Even { get; }

    /// <summary>Scenarios that both builds played, in the order of their names.</summary>
    public static IReadOnlyList<SharedScenario> Of(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate,
        int seed)
    {
        return
        [
            .. Both(baseline, candidate, r => (r.Scenario, r.Motion)).OrderBy(s => s.Before[0].Scenario, StringComparer.Ordinal)
                .ThenBy(s => s.Before[0].Motion, StringComparer.Ordinal)
                .SelectMany(ByRig)
                .Select((s, i) => new SharedScenario(s.Before, s.Now, seed + i)),
        ];
    }

    /// <summary>
    /// Runs are exchanged within a rig, unless the two builds were played on other rigs: then the rig may be what changed.
    /// </summary>
    public bool OnOtherRigs => IsOnOtherRigs([.. Runs.Take(Before)], [.. Runs.Skip(Before)]);

    private static IEnumerable<(List<ComparedRun> Before, List<ComparedRun> Now)> ByRig((List<ComparedRun> Before,
        List<ComparedRun> Now) both) =>
        IsOnOtherRigs(both.Before, both.Now) ? [both]
            : Both(both.Before, both.Now, r => r.Rig).OrderBy(r => r.Before[0].Rig, StringComparer.Ordinal);

    private static bool IsOnOtherRigs(List<ComparedRun> before, List<ComparedRun> now) =>
        !before.Select(r => r.Rig).ToHashSet().SetEquals(now.Select(r => r.Rig));

    private static IEnumerable<(List<ComparedRun> Before, List<ComparedRun> Now)> Both<TKey>(
        IEnumerable<ComparedRun> baseline, IEnumerable<ComparedRun> candidate, Func<ComparedRun, TKey> key) where TKey : notnull
    {
        var now = candidate.GroupBy(key).ToDictionary(g => g.Key, g => g.ToList());
        return baseline.GroupBy(key).Where(g => now.ContainsKey(g.Key)).Select(g => (g.ToList(), now[g.Key]));
    }

    /// <summary>
    /// Whether trials of one run come out alike more often than chance explains, on one and the same build: a state that the
    /// device has for the length of a run. Then trials are no independent evidence, and only whole runs are. It shows only where
    /// a build played a scenario more than once; each trial's outcomes are exchanged between those runs.
    /// </summary>
    public static bool HangTogether(IReadOnlyList<SharedScenario> scenarios, int seed)
    {
        bool[][][] blocks = [.. scenarios.SelectMany(s => new[] { s.Outcomes(0, s.Before), s.Outcomes(s.Before, s.Now) })
            .Where(b => b.Length > 1 && b[0].Length > 1)];
        if (blocks.Length == 0) { return false; }
        double seen = blocks.Sum(Scatter);
        var random = new Random(seed);
        int asFar = 0;
        for (int draw = 0; draw < HangDraws; draw++)
        {
            // What is exchanged already may be exchanged again: every order stays as likely.
            foreach (bool[] trial in blocks.SelectMany(b => b)) { random.Shuffle(trial); }
            if (blocks.Sum(Scatter) >= seen - 1e-9) { asFar++; }
        }
        return (asFar + 1.0) / (HangDraws + 1) <= BuildComparison.Level;
    }

    private const int HangDraws = 999;

    /// <summary>By trial, and in it by run: recognised or not. Trials that are counted in all of these runs.</summary>
    private bool[][] Outcomes(int first, int count) =>
        [.. Trials.Select(t => t.Plays.Skip(first).Take(count).ToList()).Where(p => p.All(x => x is not null))
            .Select(p => p.Select(x => x!.Recognised).ToArray())];

    /// <summary>How far the runs' numbers of recognised trials lie from their mean, squared.</summary>
    private static double Scatter(bool[][] trials)
    {
        double sum = 0, squares = 0;
        for (int run = 0; run < trials[0].Length; run++)
        {
            int recognised = 0;
            foreach (bool[] trial in trials) { if (trial[run]) { recognised++; } }
            sum += recognised;
            squares += recognised * recognised;
        }
        return squares - sum * sum / trials[0].Length;
    }

    /// <summary>All runs of both, whatever they played.</summary>
    public static IReadOnlyList<SharedScenario> AsOne(IReadOnlyList<ComparedRun> baseline, IReadOnlyList<ComparedRun> candidate,
        int seed) =>
        [new(baseline, candidate, seed)];

    /// <summary>Of whatever is drawn in a comparison: the same runs give the same draws.</summary>
    public static int Seed(IEnumerable<ComparedRun> runs)
    {
        var text = new StringBuilder();
        foreach (var run in runs)
        {
            text.Append(run.Scenario).Append(run.Motion).Append(run.Repeat);
            foreach (var trial in run.Outputs.SelectMany(o => o.Trials)) { text.Append(trial.Recognised ? '1'
                : '0').Append(trial.ReactionNs); }
        }
        return BitConverter.ToInt32(SHA256.HashData(Encoding.UTF8.GetBytes(text.ToString()))) & int.MaxValue >> 1;
    }

    private bool[] Evened(int seed)
    {
        int each = Math.Min(Before, Now);
        var random = new Random(seed);
        bool[] Of(int runs)
        {
            bool[] chosen = [.. Enumerable.Range(0, runs).Select(i => i < each)];
            random.Shuffle(chosen);
            return chosen;
        }
        return [.. Of(Before), .. Of(Now)];
    }

    private static IEnumerable<SharedTrial> TrialsOf(IReadOnlyList<ComparedRun> runs)
    {
        var trials = new Dictionary<TrialKey, SharedTrial>();
        for (int i = 0; i < runs.Count; i++)
        {
            foreach (var output in runs[i].Outputs)
            {
                foreach (var trial in output.Trials.Where(t => t.Counted))
                {
                    var key = new TrialKey(runs[i].Scenario, runs[i].Motion, output.Output, trial.Class, trial.StartNs);
                    if (!trials.TryGetValue(key, out var known))
                    {
                        trials[key] = known = new(key, runs[i].MotionOf(trial), new TrialScore?[runs.Count]);
                    }
                    known.Plays[i] = trial;
                }
            }
        }
        return trials.Values.OrderBy(t => t.Key.Output, StringComparer.Ordinal).ThenBy(t => t.Key.StartNs);
    }

    /// <summary>These runs, with what is summed over a choice of them.</summary>
    public PermutedRuns Permuted(Func<bool[], double> shift) => new(Before, Now, shift);

    /// <summary>Which runs are the candidate's.</summary>
    public bool[] AsPlayed => Permuted(_ => 0).AsPlayed();
}
