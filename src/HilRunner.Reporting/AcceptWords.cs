using HilRunner.Scoring;

namespace HilRunner.Reporting;

/// <summary>The outcome of an acceptance as a colleague would say it.</summary>
public static class AcceptWords
{
    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Pass => "accepted",
        Verdict.Fail => "not accepted",
        Verdict.Error => "error",
        _ => "open",
    };

    /// <summary>Which attempt this is, and what came of those before.</summary>
    public static string Attempt(IReadOnlyList<EarlierAttempt> earlier)
    {
        ArgumentNullException.ThrowIfNull(earlier);
        var outcomes = earlier.CountBy(a => a.Outcome).Select(o => $"{o.Value} {o.Key}");
        return $"attempt {earlier.Count + 1} at this plan on this image: before it {string.Join(", ", outcomes)}";
    }
}
