using HilRunner.Core.Documents;
using HilRunner.Core.Signals.Synthesis;

namespace HilRunner.Core.Scenarios;

/// <summary>The spectral density of random vibration: a flat band by its rms, or break points.</summary>
internal static class RandomShape
{
    public static Shape<IReadOnlyList<DensityPoint>> Shape { get; } =
        MapShape.Of<IReadOnlyList<DensityPoint>>(null, "a flat band such as {from: 5 Hz, to: 20 Hz, rms: 0.1 g}, or {density: {5 Hz: 0.01 g2/Hz, 20 Hz: 0.002 g2/Hz}}", keys =>
        {
            var from = keys.Optional("from", Shapes.Hertz, "Flat band: its lower edge.");
            var to = keys.Optional("to", Shapes.Hertz, "Flat band: its upper edge.");
            var rms = keys.Optional("rms", Shapes.Quantity(UnitKind.Acceleration, "0 g", "1000 g", aboveMin: true), "Flat band: root mean square of all of it.");
            var density = keys.Optional("density", Density(), "Break points, by rising frequency; straight lines between them on logarithmic scales, nothing outside.");
            keys.ExactlyOne(rms, density);
            keys.Check((entries, reading) =>
            {
                foreach (IKey edge in new IKey[] { from, to })
                {
                    if (entries.Has(rms) && !entries.Has(edge)) { reading.Faults.Add(entries.Node, $"no {edge.Name} in {entries.Node.Path}", $"{edge.Name}: {edge.Shape.Form}"); }
                    if (entries.Has(density) && entries.Has(edge)) { reading.Faults.Add(entries.NodeOf(edge), $"{edge.Name} beside density in {entries.Node.Path}", $"{edge.Name} only beside rms", "remove it"); }
                }
                if (entries.TryGet(from, out double low) && entries.TryGet(to, out double high) && low >= high) { reading.Refuse(entries.NodeOf(to), entries.NodeOf(to).Shown, "a frequency above from"); }
            });
            return (entries, _) => entries.Maybe(density) ?? RandomVibration.Flat(entries.Get(from), entries.Get(to), entries.Get(rms), default).Density;
        });

    private static Shape<IReadOnlyList<DensityPoint>> Density() => new NamedShape<double>("a map from frequency to density, such as {5 Hz: 0.01 g2/Hz, 20 Hz: 0.002 g2/Hz}", "FREQUENCY",
        Quantity.Pattern(UnitKind.Frequency), Shapes.Quantity(UnitKind.AccelerationDensity, "0 g2/Hz", "1000 g2/Hz", aboveMin: true), 2, 1_000).Select(Convert);

    private static IReadOnlyList<DensityPoint> Convert(Named<double> named, Node node, Reading reading)
    {
        var points = new List<DensityPoint>();
        foreach (var (key, value) in named.Own)
        {
            string? fault = Quantity.TryParse(key.Text, UnitKind.Frequency, out decimal milliHertz);
            double hertz = (double)milliHertz / 1000;
            if (fault is not null || milliHertz <= 0) { reading.Faults.Add(key, $"the frequency \"{key.Text}\" in {node.Path}", "a frequency above 0 Hz"); }
            else if (points.Count > 0 && hertz <= points[^1].Hz) { reading.Faults.Add(key, $"{key.Text} after a frequency that is not lower, in {node.Path}", "rising frequencies"); }
            points.Add(new(hertz, value));
        }
        return points;
    }
}
