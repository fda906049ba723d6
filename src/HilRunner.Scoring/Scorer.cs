using HilRunner.Core.Runs;
using HilRunner.Scoring.Agreements;
using HilRunner.Scoring.Changes;
using HilRunner.Scoring.Events;
using HilRunner.Scoring.Latency;
using HilRunner.Scoring.Limits;
using HilRunner.Scoring.Segments;
using HilRunner.Scoring.Timelines;

namespace HilRunner.Scoring;

/// <summary>
/// Reference, decisions, limits and rig health in; figures and a verdict out. A pure function: no clock, no file, no device;
/// the same input gives the same score, in a live run, a stored one and a simulation. Definitions: README.md beside this file.
/// </summary>
public static class Scorer
{
    /// <exception cref="ArgumentException">The input contradicts itself: the message says where.</exception>
    public static Score Score(ScoreInput input)
    {
        Check(input);
        var rules = input.Rules;
        var events = rules.Events.ToHashSet(StringComparer.Ordinal);
        var reference = ReferenceTimeline.Build(input.Reference, rules, input.End.Ns);
        var reports = new ReportClock(input.Playout, input.Rate, input.Moved) { HeldUp = input.HeldUp };
        var byOutput = input.Decisions.ToLookup(d => d.Output, StringComparer.Ordinal);

        var outputs = new List<ScoredOutput>();
        foreach (string output in input.Outputs)
        {
            // OrderBy is stable: decisions of one time stay in the order of the file.
            var decisions = byOutput[output].OrderBy(d => d.Time.Ns).ToList();
            outputs.Add(ScoreOutput(output, decisions, input, events, reference, reports));
        }

        var limits = LimitJudge.Judge(rules.Limits, outputs, input.Device, input.Timing);
        var (verdict, reasons) = Verdicts.Judge(limits, rules.Limits, input.Health, outputs.Count > 1);
        return new()
        {
            Verdict = verdict,
            Reasons = reasons,
            Outputs = [.. outputs.Select(o => o.Score)],
            Limits = limits,
            Health = input.Health,
            Device = input.Device,
            Timing = input.Timing,
            Delivery = input.Delivery,
            Notes = [.. DeliveryNotes.Of(input.Delivery), .. TrialCounts.Of(reference, rules, input.End.Ns)
                .SelectMany(c => c.Notes), .. input.Notes],
            ReportTimesKnown = reports.Known,
        };
    }

    private static ScoredOutput ScoreOutput(
        string output, List<Decision> decisions, ScoreInput input, HashSet<string> events, ReferenceTimeline reference, ReportClock reports)
    {
        long end = input.End.Ns;
        var rules = input.Rules;
        var observed = ObservedTimeline.Build(decisions, events, rules.StaleAfterNs, end);
        var classes = reference.States.Select(s => s.Class).Distinct(StringComparer.Ordinal).ToList();
        var strict = AgreementScorer.Score(reference.States, observed, classes);
        var graced = AgreementScorer.Score(AgreementScorer.WithoutGrace(reference.States, rules.GraceNs), observed, classes);

        var trials = TrialScorer.Score(reference.StateTrials, observed, rules, reports).ToList();
        int chatter = trials.Sum(t => t.Chatter ?? 0);
        var changes = ChangeScorer.Score(reference, observed, strict.ScoredNs, chatter, out var dwells);
        var eventScores = ScoreEvents(decisions, input, events, reference, reports, trials);
        trials = [.. trials.OrderBy(t => t.StartNs).ThenBy(t => t.Class, StringComparer.Ordinal)];

        var byClass = trials.GroupBy(t => t.Class, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.ToList(), StringComparer.Ordinal);
        var score = new OutputScore
        {
            Output = output,
            Strict = strict,
            Graced = graced,
            Trials = trials,
            Reaction = byClass.ToSorted(c => LatencySamples.Reaction(c.Value).Summary()),
            Settling = byClass.Where(c => !events.Contains(c.Key)).ToSorted(c => LatencySamples.Settling(c.Value).Summary()),
            Report = byClass.ToSorted(c => LatencySamples.Report(c.Value, reports.Known).Summary()),
            Events = eventScores,
            Changes = changes,
            Segments = SegmentScorer.Score(reference, observed),
        };
        return new(score, dwells, rules.WithinNs, reports.Known);
    }

    /// <summary>Adds the event trials to <paramref name="trials"/>.</summary>
    private static SortedDictionary<string, EventScore> ScoreEvents(
        List<Decision> decisions, ScoreInput input, HashSet<string> events, ReferenceTimeline reference, ReportClock reports,
        List<TrialScore> trials)
    {
        long end = input.End.Ns;
        var scores = new SortedDictionary<string, EventScore>(StringComparer.Ordinal);
        foreach (string c in events)
        {
            long within = input.Rules.WithinNs!.Value;
            var expected = reference.EventTrials.Where(t => t.Class == c).ToList();
            var said = decisions.Where(d => d.Class == c && d.Time.Ns >= 0 && d.Time.Ns < end).ToList();
            var matched = EventMatcher.Match(expected, said, within, input.Rules.EarlyNs);
            trials.AddRange(expected.Zip(matched, (t, hit) => EventMatcher.Trial(t, hit, within, end, reports)));
            int hits = matched.Count(m => m is not null);
            var found = matched.OfType<Decision>().ToHashSet<Decision>(ReferenceEqualityComparer.Instance);
            long[] alarms = [.. said.Where(d => !found.Contains(d)).Select(d => d.Time.Ns)];
            scores[c] = new(hits, expected.Count - hits, alarms.Length, end == 0 ? null : alarms.Length * 3600e9 / end)
            {
                AlarmsAtNs = alarms,
            };
        }
        return scores;
    }

    private static void Check(ScoreInput input)
    {
        var rules = input.Rules;
        if (input.End.Ns < 0) { throw new ArgumentException($"the stimulus ends at {input.End}, before it starts", nameof(input)); }
        if (rules.GraceNs < 0) { throw new ArgumentException($"grace is {rules.GraceNs} ns; expected 0 or more", nameof(input)); }
        if (rules.WithinNs < 0) { throw new ArgumentException($"within is {rules.WithinNs} ns; expected 0 or more", nameof(input)); }
        if (rules.EarlyNs < 0) { throw new ArgumentException($"early is {rules.EarlyNs} ns; expected 0 or more", nameof(input)); }
        if (rules.HoldNs < 0) { throw new ArgumentException($"hold is {rules.HoldNs} ns; expected 0 or more", nameof(input)); }
        if (rules.StaleAfterNs <= 0)
        {
            throw new ArgumentException($"stale_after is {rules.StaleAfterNs} ns; expected more than 0", nameof(input));
        }
        if (rules.Events.Count > 0 && rules.WithinNs is null)
        {
            throw new ArgumentException("there are event classes but no `within`: without it no decision can match an event", nameof(input));
        }
        var outputs = input.Outputs.ToHashSet(StringComparer.Ordinal);
        if (outputs.Count == 0 || outputs.Count != input.Outputs.Count)
        {
            throw new ArgumentException("the device's outputs must be named, each once", nameof(input));
        }
        if (input.Decisions.FirstOrDefault(d => !outputs.Contains(d.Output)) is { } stray)
        {
            string known = string.Join(", ", input.Outputs.Select(o => $"\"{o}\""));
            throw new ArgumentException(
                $"the decision at {stray.Time} is of output \"{stray.Output}\"; expected one of: {known}", nameof(input));
        }
    }
}
