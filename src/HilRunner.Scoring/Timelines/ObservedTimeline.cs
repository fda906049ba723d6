using HilRunner.Core.Runs;

namespace HilRunner.Scoring.Timelines;

/// <summary>From At on the observed class is Class, until the next step.</summary>
/// <param name="Cause">The decision that made it; null where there was none (before the first one, or after silence).</param>
internal readonly record struct ObservedStep(long At, string Class, Decision? Cause);

/// <summary>What one output of the device said over [0, End): a step function over its state decisions.</summary>
internal sealed class ObservedTimeline
{
    /// <summary>The observed class before the first decision, and after one went stale.</summary>
    public const string None = Core.Runs.Decision.NoClass;

    private readonly List<ObservedStep> _steps = [];

    private ObservedTimeline(long end) => End = end;

    public long End { get; }

    /// <summary>By time; the first at 0; each of another class than the one before.</summary>
    public IReadOnlyList<ObservedStep> Steps => _steps;

    /// <summary>When the output's first state decision was made, be it before 0 or after the end; null: there is none.</summary>
    public long? FirstDecisionAt { get; private set; }

    public long EndOf(int step) => step + 1 < _steps.Count ? _steps[step + 1].At : End;

    /// <param name="decisions">Of one output, by time, those of one time in the order of the file. Event decisions too:
    /// they never change the state, but they are messages, after which the state is not stale.</param>
    public static ObservedTimeline Build(IReadOnlyList<Decision> decisions, IReadOnlySet<string> events, long? staleAfter, long end)
    {
        var timeline = new ObservedTimeline(end);
        timeline._steps.Add(new(0, None, null));
        for (int i = 0; i < decisions.Count;)
        {
            long at = decisions[i].Time.Ns;
            if (i > 0) { timeline.GoStale(decisions[i - 1].Time.Ns, staleAfter, at); }
            Decision? last = null;
            for (; i < decisions.Count && decisions[i].Time.Ns == at; i++)
            {
                if (!events.Contains(decisions[i].Class)) { last = decisions[i]; }
            }
            if (last is null) { continue; }
            timeline.FirstDecisionAt ??= at;
            timeline.Change(at, last.Class, last);
        }
        if (decisions.Count > 0) { timeline.GoStale(decisions[^1].Time.Ns, staleAfter, long.MaxValue); }
        return timeline;
    }

    private void GoStale(long lastMessage, long? staleAfter, long nextMessage)
    {
        if (staleAfter is not { } after) { return; }
        long at = Nanoseconds.AddHeld(lastMessage, after);
        if (at < nextMessage) { Change(at, None, null); }
    }

    private void Change(long at, string observed, Decision? cause)
    {
        if (at >= End || observed == _steps[^1].Class) { return; }
        if (at <= 0)
        {
            _steps[0] = new(0, observed, cause);
            return;
        }
        _steps.Add(new(at, observed, cause));
    }
}
