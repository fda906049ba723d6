using HilRunner.Scoring;

namespace HilRunner.Cli.Screen;

/// <summary>A verdict as a word; the colour only repeats what the word says.</summary>
internal static class VerdictMarkup
{
    public static string Of(Verdict verdict) => $"[{Colour(verdict)}]{Verdicts.Word(verdict)}[/]";

    private static string Colour(Verdict verdict) => verdict switch
    {
        Verdict.Pass => "green",
        Verdict.Fail or Verdict.Error => "red",
        Verdict.Inconc => "yellow",
        _ => "grey",
    };
}
