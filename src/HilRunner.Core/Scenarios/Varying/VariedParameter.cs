using System.Globalization;
using HilRunner.Core.Documents;
using HilRunner.Core.Recordings;

namespace HilRunner.Core.Scenarios.Varying;

/// <summary>Something of a play step that a scenario may vary. Values are decimal, in <see cref="Unit"/>, in whole multiples of <see cref="Finest"/>.</summary>
public sealed class VariedParameter
{
    private readonly Func<PlayStep, decimal, PlayStep> _apply;

    private VariedParameter(string key, string title, UnitKind? kind, string unit, string sign, decimal unitsPerBase, (string Min, string Max) range, Func<PlayStep, decimal, PlayStep> apply)
    {
        (Key, Title, Kind, Unit, Sign, UnitsPerBase, Range, _apply) = (key, title, kind, unit, sign, unitsPerBase, range, apply);
    }

    /// <summary>What values are rounded to, in <see cref="Unit"/>.</summary>
    public const decimal Finest = 0.001m;

    /// <summary>In the order in which they act on a step.</summary>
    public static IReadOnlyList<VariedParameter> All { get; } =
    [
        .. new[] { 'x', 'y', 'z' }.Select(Rotation),
        new("scale", "scale", null, "", "", 1, ("-1000000", "1000000"), (step, factor) => step with { Scale = step.Scale * (double)factor }),
        .. ColumnUse.ChannelNames.Select(Offset),
        new("stretch", "stretch", null, "", "", 1, ("0.5", "2"), (step, factor) => step with { StretchPermille = (int)decimal.Round(step.StretchPermille * factor) }),
        new("noise", "noise", UnitKind.Acceleration, "mg", " mg", 1000, ("0 g", "100 g"), (step, mg) => step with { NoiseG = Together(step.NoiseG, (double)(mg / 1000)) }),
    ];

    /// <summary>As in a scenario, with a dot between keys: rotate.x.</summary>
    public string Key { get; }
    /// <summary>For people: rotation about x.</summary>
    public string Title { get; }
    /// <summary>As written in files; "" for factors.</summary>
    public string Unit { get; }
    internal UnitKind? Kind { get; }
    internal decimal UnitsPerBase { get; }
    /// <summary>As written in a file.</summary>
    internal (string Min, string Max) Range { get; }
    /// <summary>The unit as people read it behind a number.</summary>
    private string Sign { get; }

    /// <exception cref="ArgumentOutOfRangeException">There is no such parameter.</exception>
    public static VariedParameter Of(string key) =>
        All.FirstOrDefault(p => p.Key == key) ?? throw new ArgumentOutOfRangeException(nameof(key), key, "no parameter that can be varied");

    /// <summary>As people read it: 22.5°.</summary>
    public string Show(decimal value) => Number(value).Replace('-', '−') + Sign;

    /// <summary>As written in a file: 22.5 deg.</summary>
    public string Write(decimal value) => Unit.Length == 0 ? Number(value) : $"{Number(value)} {Unit}";

    /// <summary>What <see cref="Write"/> wrote; null: something else.</summary>
    internal decimal? Read(string text)
    {
        if (Kind is { } kind) { return Quantity.TryParse(text, kind, out decimal value) is null ? value * UnitsPerBase : null; }
        return decimal.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out decimal factor) ? factor : null;
    }

    /// <summary>On top of what the step itself says.</summary>
    internal PlayStep Apply(PlayStep step, decimal value) => _apply(step, value);

    private static string Number(decimal value) => value.ToString("0.###", CultureInfo.InvariantCulture);

    private static VariedParameter Rotation(char axis) => new($"rotate.{axis}", $"rotation about {axis}", UnitKind.Angle, "deg", "°", 1, ("-3600 deg", "3600 deg"),
        (step, degrees) => degrees == 0 ? step : step with { Rotate = [.. step.Rotate, new(axis, (double)degrees)] });

    private static VariedParameter Offset(string channel)
    {
        PlayStep Add(PlayStep step, double amount) => amount == 0 ? step
            : step with { Offsets = new Dictionary<string, double>(step.Offsets) { [channel] = step.Offsets.GetValueOrDefault(channel) + amount } };
        return ColumnUse.IsAcceleration(channel)
            ? new($"offset.{channel}", $"offset on {channel}", UnitKind.Acceleration, "mg", " mg", 1000, ("-1000 g", "1000 g"), (step, mg) => Add(step, (double)(mg / 1000)))
            : new($"offset.{channel}", $"offset on {channel}", UnitKind.AngularRate, "dps", "°/s", 1, ("-100000 dps", "100000 dps"), (step, dps) => Add(step, (double)dps));
    }

    /// <summary>Independent noises: their variances add up.</summary>
    private static double Together(double a, double b) => a == 0 ? b : b == 0 ? a : Math.Sqrt(a * a + b * b);
}
