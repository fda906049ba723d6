using HilRunner.Cli.Screen.Terminals;
using HilRunner.Scoring;
using Spectre.Console;

namespace HilRunner.Cli.Screen;

/// <summary>A verdict as a word; the colour only repeats what the word says.</summary>
internal static class VerdictWord
{
    public static Styled Of(Verdict verdict) => Styled.In(Verdicts.Word(verdict), ColourOf(verdict));

    private static Color ColourOf(Verdict verdict) => verdict switch
    {
        Verdict.Pass => Color.Green,
        Verdict.Fail or Verdict.Error => Color.Red,
        Verdict.Inconc => Color.Yellow,
        _ => Color.Grey,
    };
}
