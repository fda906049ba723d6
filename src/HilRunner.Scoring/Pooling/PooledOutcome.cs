namespace HilRunner.Scoring.Pooling;

/// <summary>A limit with a confidence, judged once over the trials of all runs.</summary>
/// <param name="Judged">The limit, the figure over all plays, how it ended and why.</param>
public sealed record PooledOutcome(LimitOutcome Judged)
{
    /// <summary>Independent trials: see <see cref="TrialUnit"/>.</summary>
    public int Units { get; init; }
    /// <summary>Of a share: units of which every play was recognised. Null for latencies.</summary>
    public int? UnitsRecognised { get; init; }
    /// <summary>Trials, repeats and variations counted each.</summary>
    public int Plays { get; init; }
    public int? PlaysRecognised { get; init; }
    /// <summary>Units that are a named source; the rest are labelled stretches of recordings whose source is not said.</summary>
    public int Sources { get; init; }
    /// <summary>Of false alarms: what they were counted in; null of other measures.</summary>
    public HeardTime? Heard { get; init; }
    /// <summary>
    /// What the units show with the limit's confidence, on its side: a share, seconds, or alarms an hour. Null: nothing.
    /// </summary>
    public double? Shown { get; init; }

    /// <summary>Of a claim that was tested trial by trial; null: it was not.</summary>
    public SequentialCourse? Course { get; init; }

    /// <summary>What an independent trial is here.</summary>
    public string Rule => (Sources, Units - Sources) switch
    {
        _ when Heard is not null => Sources > 0
            ? "each stretch of a recording once, in the play with the most alarms for its length; by source where the side files name one"
            : "each stretch of a recording once, in the play with the most alarms for its length",
        (_, 0) => "one per source that the side files name",
        (0, _) => "one per labelled stretch, as the side files name no source",
        _ => "one per source that the side files name, else one per labelled stretch",
    };
}

/// <summary>What false alarms were counted in.</summary>
/// <param name="OnceNs">Motion that was heard, each stretch once, in the play that speaks most against the device.</param>
/// <param name="Alarms">In these plays.</param>
/// <param name="AllNs">Motion of all plays.</param>
/// <param name="AllAlarms">In all plays.</param>
/// <param name="Dispersion">Above 1 where alarms hang together: so many count as one.</param>
public sealed record HeardTime(long OnceNs, int Alarms, long AllNs, int AllAlarms, double Dispersion);
