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
}
