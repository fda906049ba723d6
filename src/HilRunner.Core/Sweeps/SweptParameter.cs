using System.Globalization;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Sweeps;

/// <summary>Something of a steady motion that can be swept, and how it is written.</summary>
public sealed class SweptParameter
{
    private readonly decimal _unitsPerBase;

    private SweptParameter(string key, string title, UnitKind kind, string unit, decimal unitsPerBase, string min, string max)
    {
        (Key, Title, Kind, Unit, _unitsPerBase, Min, Max) = (key, title, kind, unit, unitsPerBase, min, max);
    }

    public static SweptParameter Tone { get; } = new("tone", "frequency", UnitKind.Frequency, "Hz", 0.001m, "1 mHz", "5000 kHz");
    public static SweptParameter Peak { get; } = new("peak", "peak", UnitKind.Acceleration, "mg", 1000, "0 g", "1000 g");
    public static SweptParameter Rms { get; } = new("rms", "rms", UnitKind.Acceleration, "mg", 1000, "0.000001 g", "1000 g");
    public static SweptParameter Lower { get; } = new("from", "lower edge", UnitKind.Frequency, "Hz", 0.001m, "1 mHz", "5000 kHz");
    public static SweptParameter Upper { get; } = new("to", "upper edge", UnitKind.Frequency, "Hz", 0.001m, "1 mHz", "5000 kHz");

    /// <summary>As in a plan.</summary>
    public string Key { get; }
    /// <summary>For people.</summary>
    public string Title { get; }
    /// <summary>In which figures of it are told.</summary>
    public string Unit { get; }
    internal UnitKind Kind { get; }
    internal string Min { get; }
    internal string Max { get; }

    /// <summary>From the base unit to <see cref="Unit"/>.</summary>
    public decimal InUnit(decimal value) => value * _unitsPerBase;

    /// <summary>As written in files, exactly: 23.5 mg.</summary>
    public string Write(decimal value) => $"{InUnit(value).ToString("0.############", CultureInfo.InvariantCulture)} {Unit}";
}
