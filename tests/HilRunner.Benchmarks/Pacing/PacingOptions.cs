using System.Globalization;

namespace HilRunner.Benchmarks.Pacing;

/// <param name="Pairs">Pairs of blocks for each rate and condition.</param>
/// <param name="Seconds">Length of a block.</param>
/// <param name="Rates">Samples a second.</param>
/// <param name="LockFile">Held while a pair is measured; null: none.</param>
/// <param name="Write">File for the result; null: only printed.</param>
internal sealed record PacingOptions(int Pairs, int Seconds, IReadOnlyList<int> Rates, string? LockFile, string? Write)
{
    public const string Usage = "usage: pacing [--pairs N] [--seconds N] [--rates 100,800,6400] [--lock FILE] [--write FILE]";

    /// <summary>Null: not understood.</summary>
    public static PacingOptions? Parse(string[] args)
    {
        var options = new PacingOptions(10, 8, [100, 800, 6400], null, null);
        for (int i = 0; i < args.Length; i += 2)
        {
            if (i + 1 == args.Length) { return null; }
            string value = args[i + 1];
            PacingOptions? more = args[i] switch
            {
                "--pairs" when Number(value) is { } n => options with { Pairs = n },
                "--seconds" when Number(value) is { } n => options with { Seconds = n },
                "--rates" when value.Split(',').Select(Number).ToArray() is var rates && rates.All(r => r is not null) =>
                    options with { Rates = [.. rates.Select(r => r!.Value)] },
                "--lock" => options with { LockFile = value },
                "--write" => options with { Write = value },
                _ => null,
            };
            if (more is null) { return null; }
            options = more;
        }
        return options;
    }

    private static int? Number(string text) => int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out int n) && n > 0 ? n : null;
}
