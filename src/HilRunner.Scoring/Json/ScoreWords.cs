using HilRunner.Core.Scenarios;
using HilRunner.Scoring.Limits;

namespace HilRunner.Scoring.Json;

/// <summary>The words of score.json, in both directions.</summary>
internal static class ScoreWords
{
    private static readonly Dictionary<string, Measure> Measures =
        Enum.GetValues<Measure>().ToDictionary(LimitText.Name, StringComparer.Ordinal);

    private static readonly Dictionary<string, Statistic> Statistics =
        Enum.GetValues<Statistic>().ToDictionary(LimitText.Name, StringComparer.Ordinal);

    private static readonly Dictionary<string, Verdict> AllVerdicts =
        Enum.GetValues<Verdict>().ToDictionary(Verdicts.Word, StringComparer.Ordinal);

    private static readonly Dictionary<string, Outcome> Outcomes =
        Enum.GetValues<Outcome>().ToDictionary(Word, StringComparer.Ordinal);

    public static string Word(Outcome outcome) => outcome.ToString().ToLowerInvariant();

    public static Measure Measure(string word) => Find(Measures, word, "measure");
    public static Statistic Statistic(string word) => Find(Statistics, word, "statistic");
    public static Verdict Verdict(string word) => Find(AllVerdicts, word, "verdict");
    public static Outcome Outcome(string word) => Find(Outcomes, word, "outcome");

    public static T Find<T>(Dictionary<string, T> words, string word, string what) => words.TryGetValue(word, out var value)
        ? value
        : throw new InvalidDataException($"\"{word}\" is no {what}; expected one of {string.Join(", ", words.Keys)}");
}
