using CsCheck;
using HilRunner.Core.Runs;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Time;
using HilRunner.Reporting.Axis;

namespace HilRunner.Reporting.Tests.Axis;

internal sealed class ObservedTimelineTests
{
    private const long Second = 1_000_000_000;

    /// <summary>scoring.md, worked example: dwells 7, 1, 12, 12, 3 s; the differences are the off-diagonal seconds of its table.</summary>
    [Test]
    public void Shows_the_worked_example_of_the_scoring_definitions()
    {
        StoredRun run = Run(
            [(0, 10, "resting"), (10, 30, "carried"), (30, 40, "resting"), (40, 60, "conveyed")],
            [(2, "resting"), (13, "carried"), (20, "conveyed"), (21, "carried"), (33, "resting"), (45, "carried"), (48, "conveyed")], new(), 60);
        var timeline = ObservedTimeline.Of(run, "");
        Assert.Multiple(() =>
        {
            Assert.That(timeline.DwellsNs.Select(d => d / Second), Is.EqualTo([7, 1, 12, 12, 3]));
            Assert.That(timeline.Differences.Sum(d => d.EndNs - d.StartNs) / Second, Is.EqualTo(60 - 43));
            Assert.That(timeline.Steps, Is.EqualTo(new Step[] { new(0, "(none)"), new(2 * Second, "resting"), new(13 * Second, "carried"), new(20 * Second, "conveyed"), new(21 * Second, "carried"), new(33 * Second, "resting"), new(45 * Second, "carried"), new(48 * Second, "conveyed") }));
        });
    }

    [Test]
    public void The_last_decision_before_the_start_holds_at_the_start_and_of_several_at_one_time_the_last_wins()
    {
        StoredRun run = Run([(0, 10, "resting")], [(-3, "carried"), (-1, "conveyed"), (4, "carried"), (4, "resting"), (11, "carried")], new(), 10);
        Assert.That(ObservedTimeline.Of(run, "").Steps, Is.EqualTo(new Step[] { new(0, "conveyed"), new(4 * Second, "resting") }));
    }

    [Test]
    public void An_event_marks_a_hit_or_a_false_alarm_and_leaves_the_state_alone()
    {
        var rules = new ScoringRules { Events = ["dropped"], WithinNs = 2 * Second };
        StoredRun run = Run([(0, 10, "resting"), (10, 11, "dropped"), (11, 20, "resting")], [(0, "resting"), (5, "dropped"), (11, "dropped"), (11, "dropped")], rules, 20);
        var timeline = ObservedTimeline.Of(run, "");
        Assert.Multiple(() =>
        {
            Assert.That(timeline.Events.Select(e => (e.AtNs / Second, e.Hit)), Is.EqualTo(new[] { (5L, false), (11L, true), (11L, false) }));
            Assert.That(timeline.Steps, Has.Count.EqualTo(1));
            Assert.That(timeline.Differences, Is.Empty);
        });
    }

    /// <summary>Against a twin that paints ticks: what showed, what was expected, where they differ, and what of that lies in the grace.</summary>
    [Test]
    public void Agrees_tick_by_tick_with_the_slow_twin()
    {
        var names = Gen.OneOf("resting", "carried", "conveyed", "dropped", "transition");
        var lengths = Gen.Select(Gen.Int[1, 9], names, Gen.Frequency((5, Gen.Const(0)), (1, Gen.Int[1, 4]))).List[0, 8];
        var said = Gen.Select(Gen.Int[-5, 60], names).List[0, 14];
        Gen.Select(lengths, said, Gen.Int[0, 5], Gen.Frequency((2, Gen.Const(0)), (1, Gen.Int[1, 9])), Gen.Int[1, 6]).Sample((intervals, decisions, grace, stale, within) =>
        {
            var reference = new List<(long, long, string)>();
            long at = 0;
            foreach (var (length, name, gap) in intervals) { reference.Add((at + gap, at + gap + length, name)); at += gap + length; }
            long end = Math.Max(1, at);
            var rules = new ScoringRules { Events = ["dropped"], Unscored = ["transition"], GraceNs = grace * Second, WithinNs = within * Second, StaleAfterNs = stale == 0 ? null : stale * Second };
            StoredRun run = Run(reference, [.. decisions.OrderBy(d => d.Item1).Select(d => ((long)d.Item1, d.Item2))], rules, end);
            var timeline = ObservedTimeline.Of(run, "");
            string[] observed = CountedScore.Observed(run.Decisions, rules, end * Second, Second);
            string?[] expected = CountedScore.Expected(run.Reference, rules, end * Second, Second);
            bool[] inGrace = CountedScore.Grace([.. run.Reference.Where(r => !rules.Unscored.Contains(r.Class) && !rules.Events.Contains(r.Class))], rules, end * Second, Second);
            for (int i = 0; i < end; i++)
            {
                Assert.That(timeline.Steps.Last(s => s.StartNs <= i * Second).Class, Is.EqualTo(observed[i]), $"observed at {i} s");
                var difference = timeline.Differences.Where(d => d.StartNs <= i * Second && i * Second < d.EndNs).ToList();
                bool differs = expected[i] is { } c && c != observed[i];
                Assert.That(difference, Has.Count.EqualTo(differs ? 1 : 0), $"differs at {i} s");
                if (differs && reference.Count(r => r.Item1 <= i && i < r.Item2 + within) == 1) { Assert.That(difference[0].InGrace, Is.EqualTo(inGrace[i]), $"grace at {i} s"); }
            }
        }, iter: 3_000);
    }

    [Test]
    public void Joins_changes_that_are_too_fast_to_keep_into_one_stretch()
    {
        var decisions = Enumerable.Range(0, 5_000).Select(i => ((long)i, i % 2 == 0 ? "resting" : "carried")).Append((9_000, "conveyed"));
        StoredRun run = Run([(0, 10_000, "resting")], [.. decisions], new(), 10_000);
        var model = new AxisModel(run, new ClassColours(run));
        var kept = model.Embedded(model.Outputs[0].Timeline, 1_000);
        Assert.That(kept.Select(k => (k.StartNs / Second, k.Class)), Is.EqualTo(new[] { (0L, AxisModel.Fast), (4_999L, 1), (9_000L, 2) }));
        Assert.That(model.Embedded(model.Outputs[0].Timeline.Differences, 1_000), Has.Count.LessThanOrEqualTo(1_001));
    }

    private static StoredRun Run(IReadOnlyList<(long Start, long End, string Class)> reference, IReadOnlyList<(long At, string Class)> decisions, ScoringRules rules, long endS) =>
        new InventedRun { Trials = 1, SecondsPerTrial = 1 }.Build() with
        {
            Reference = [.. reference.Select(r => new ReferenceInterval(new(r.Start * Second), new(r.End * Second), r.Class))],
            Decisions = [.. decisions.Select(d => new Decision(new StimulusTime(d.At * Second), d.Class))],
            Rules = rules,
            End = new(endS * Second),
            ClassOrder = ["resting", "carried", "conveyed"],
        };
}
