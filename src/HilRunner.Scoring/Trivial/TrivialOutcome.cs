namespace HilRunner.Scoring.Trivial;

/// <summary>What became of one device that hears nothing.</summary>
/// <param name="Verdict">As of a real device with these decisions.</param>
/// <param name="Why">What decided it.</param>
/// <param name="Missed">Classes of which it recognised no trial.</param>
public sealed record TrivialOutcome(TrivialDevice Device, Verdict Verdict, string Why, IReadOnlyList<string> Missed)
{
    /// <summary>The longest labelled interval of what was played.</summary>
    public long LongestTrialNs { get; init; }

    public bool IsAccepted => Verdict == Verdict.Pass;
}

/// <summary>What devices that hear nothing of what is played would get.</summary>
public sealed record TrivialResult(IReadOnlyList<TrivialOutcome> Outcomes)
{
    /// <summary>Random devices that are drawn.</summary>
    public const int Draws = 1000;

    /// <summary>Of random devices so many may be accepted: what limits allow now and then is no fault of theirs.</summary>
    public const double MostByChance = 0.01;

    public int Of(TrivialKind kind) => Outcomes.Count(o => o.Device.Kind == kind);

    public int Accepted(TrivialKind kind) => Outcomes.Count(o => o.Device.Kind == kind && o.IsAccepted);

    /// <summary>The first that is accepted and must not be; null: none.</summary>
    public TrivialOutcome? Fooling => Outcomes.FirstOrDefault(o => o.IsAccepted && o.Device.Kind != TrivialKind.Random)
        ?? (Accepted(TrivialKind.Random) > MostByChance * Of(TrivialKind.Random) ? Outcomes.First(o => o.IsAccepted) : null);

    /// <summary>The claim that is missing where such a device is accepted.</summary>
    public static string Missing(TrivialOutcome fooling)
    {
        ArgumentNullException.ThrowIfNull(fooling);
        if (fooling.Missed.Count > 0)
        {
            return $"a claim on recognised of {string.Join(", of ", fooling.Missed)}: it recognises none of them, and nothing asks for it";
        }
        if (fooling.Device.IsSilent) { return "a claim on recognised: it says nothing, and nothing asks for a word"; }
        if (fooling.Device.PeriodNs > fooling.LongestTrialNs / 4)
        {
            return "recordings in which classes come at other times and in another order: it keeps time with them";
        }
        return fooling.Device.PeriodNs is { } period
            ? FormattableString.Invariant($"hold: of more than {period / 1e9:0.0##} s, or a limit on chatter or false alarms: it recognises each class in passing")
            : "more than one class to tell apart, or a limit on false alarms: it says one thing all the time";
    }
}
