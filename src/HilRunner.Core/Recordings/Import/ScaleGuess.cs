using System.Globalization;

namespace HilRunner.Core.Recordings.Import;

/// <summary>Units that nobody said, from the numbers themselves: gravity and plausible rates. Every guess is said.</summary>
internal static class ScaleGuess
{
    /// <summary>Rows that are looked at.</summary>
    public const int Rows = 20_000;

    /// <param name="medianMagnitude">Of the three axes, in the file's numbers; null: there are not three.</param>
    /// <exception cref="BadInputException">It cannot be told.</exception>
    public static ImportUnit Acceleration(string path, double? medianMagnitude, List<string> doubts)
    {
        string? unit = medianMagnitude switch
        {
            >= 0.85 and <= 1.25 => "g",
            >= 8.3 and <= 12.3 => "m/s2",
            >= 850 and <= 1250 => "mg",
            _ => null,
        };
        if (unit is null)
        {
            string found = medianMagnitude is { } m ? FormattableString.Invariant($"acceleration without a unit, whose median magnitude is {m:G4}") : "acceleration without a unit";
            throw new BadInputException([new Fault(path, 0, 0, found, "a unit", "say --acceleration g, mg, m/s2, or what one count is, such as '0.5 mg'")]);
        }
        doubts.Add(FormattableString.Invariant($"acceleration guessed as {unit} because the median of |a| is {medianMagnitude:G4}: say --acceleration to be sure"));
        return new(unit);
    }

    /// <summary>The unit in which the usual step makes a rate from 1 Hz to 1 kHz.</summary>
    /// <param name="cells">The first stamps.</param>
    /// <exception cref="BadInputException">It cannot be told.</exception>
    public static ImportTime Time(string path, IReadOnlyList<string> cells, List<string> doubts)
    {
        if (cells.Count > 0 && cells.All(c => IsoStamp.TryRead(c, out _))) { return ImportTime.Named.Single(t => t.Unit == "iso"); }
        var values = new List<decimal>();
        foreach (string cell in cells)
        {
            if (decimal.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal value)) { values.Add(value); }
        }
        decimal[] steps = [.. values.Zip(values.Skip(1), (a, b) => b - a).Where(s => s > 0).Order()];
        decimal? step = steps.Length == 0 ? null : steps[steps.Length / 2];
        string? unit = step switch
        {
            > 0.000_9m and < 1 => "s",
            >= 1 and < 1000 => "ms",
            >= 1000 and < 1_000_000 => "us",
            >= 1_000_000 and <= 1_000_000_000 => "ns",
            _ => null,
        };
        if (unit is null)
        {
            throw new BadInputException([new Fault(path, 0, 0, step is { } s ? FormattableString.Invariant($"stamps {s:0.######} apart, without a unit") : "stamps without a unit that do not rise", "a unit of time", "say --time s, ms, us, ns, iso, or '{tick: 1 ms, bits: 16}'")]);
        }
        doubts.Add(FormattableString.Invariant($"time guessed as {unit} because the usual step is {step:0.######}: say --time to be sure"));
        return ImportTime.Named.Single(t => t.Unit == unit);
    }
}
