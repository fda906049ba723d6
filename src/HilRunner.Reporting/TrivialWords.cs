using HilRunner.Scoring.Trivial;

namespace HilRunner.Reporting;

/// <summary>Devices that hear nothing, as a colleague would say it.</summary>
public static class TrivialWords
{
    /// <summary>Kinds of which there are many, by name.</summary>
    internal static (TrivialKind Kind, string Name)[] Many { get; } =
        [(TrivialKind.Cycling, "cycling through the classes"), (TrivialKind.Random, "random classes")];

    /// <summary>What is wrong, with the claim that is missing; null: none of them passes.</summary>
    public static string? Fooled(TrivialResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        return result.Fooling is not { } fooling ? null
            : $"a device that hears nothing would pass ({Which(result, fooling)}): missing is {TrivialResult.Missing(fooling)}";
    }

    /// <summary>That none passes, in a sentence with how many were tried.</summary>
    public static string NoneFooled(TrivialResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        int random = result.Accepted(TrivialKind.Random);
        string luck = random == 0 ? "none passes" : $"{random} random {(random == 1 ? "one passes" : "ones pass")} by luck";
        return $"devices that hear nothing: {result.Outcomes.Count} tried (saying nothing, one class all the time, cycling, random); {luck}";
    }

    private static string Which(TrivialResult result, TrivialOutcome fooling) => fooling.Device.Kind == TrivialKind.Random
        ? $"{fooling.Device.Name}: {result.Accepted(TrivialKind.Random)} of {result.Of(TrivialKind.Random)} draws" : fooling.Device.Name;
}
