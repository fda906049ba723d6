using HilRunner.Scoring;

namespace HilRunner.Cli;

/// <summary>Exit codes of every command; 64 and 65 as in BSD sysexits.</summary>
internal static class ExitCodes
{
    public const int Pass = 0;
    public const int Fail = 1;
    public const int Inconclusive = 2;
    public const int Error = 3;
    public const int Usage = 64;
    public const int BadInput = 65;
    public const int Interrupted = 130;

    public static int Of(Verdict verdict) => verdict switch
    {
        Verdict.Pass => Pass,
        Verdict.Fail => Fail,
        Verdict.Error => Error,
        _ => Inconclusive,
    };
}
