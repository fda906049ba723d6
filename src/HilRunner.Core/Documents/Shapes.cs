using HilRunner.Core.Signals.Synthesis;
using HilRunner.Core.Time;

namespace HilRunner.Core.Documents;

/// <summary>The values that several documents share.</summary>
internal static class Shapes
{
    public static Shape<string> Text(string form, params string[] examples) => new TextShape(form, examples);
    public static Shape<bool> Flag { get; } = new BooleanShape();
    public static Shape<int> Integer(int min, int max) => new IntegerShape(min, max).Select(v => (int)v);
    public static Shape<long> Count { get; } = new IntegerShape(0, long.MaxValue).Select(v => (long)v);
    public static Shape<ulong> Unsigned { get; } = new IntegerShape(0, ulong.MaxValue).Select(v => (ulong)v);
    public static Shape<double> Number(double min, double max) => new NumberShape(min, max);

    /// <summary>In whole nanoseconds.</summary>
    public static Shape<long> DurationNs(string min, string max) =>
        new QuantityShape(UnitKind.Duration, min, max, step: 1).Select(v => (long)v);

    public static Shape<TimeSpan> Duration(string min, string max, bool aboveMin = false) =>
        new QuantityShape(UnitKind.Duration, min, max, step: 100, aboveMin).Select(v => TimeSpan.FromTicks((long)v / 100));

    public static Shape<SampleRate> Rate { get; } =
        new QuantityShape(UnitKind.Frequency, "1 mHz", "10000 kHz", step: 1).Select(v => new SampleRate((long)v));

    /// <summary>A frequency that is no rate, in hertz.</summary>
    public static Shape<double> Hertz { get; } = new QuantityShape(UnitKind.Frequency, "1 mHz", "5000 kHz").Select(mHz => (double)mHz / 1000);

    /// <summary>A value in the base unit of its kind.</summary>
    public static Shape<double> Quantity(UnitKind kind, string min, string max, bool aboveMin = false) =>
        new QuantityShape(kind, min, max, 0, aboveMin).Select(v => (double)v);

    /// <summary>A share as 0 to 1.</summary>
    public static Shape<double> Share { get; } = Quantity(UnitKind.Share, "0", "1");

    /// <summary>x, y, z, -x, -y, -z.</summary>
    public static Shape<Direction> Direction { get; } = new WordShape<Direction>(
        ("x", new('x')), ("y", new('y')), ("z", new('z')), ("-x", new('x', true)), ("-y", new('y', true)), ("-z", new('z', true)));

    /// <summary>A path relative to the document, as seen from the working directory.</summary>
    public static Shape<string> Path(string form, params string[] examples) =>
        Text(form, examples).Select((path, _, reading) => reading.Resolve(path));
}
