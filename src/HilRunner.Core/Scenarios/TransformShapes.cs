using HilRunner.Core.Documents;
using HilRunner.Core.Recordings;
using HilRunner.Core.Signals.Transforms;
using HilRunner.Core.Time;

namespace HilRunner.Core.Scenarios;

/// <summary>The transforms, as keys beside play and as items of a list.</summary>
internal static class TransformShapes
{
    private static readonly Shape<double> s_factor = Shapes.Number(-1e6, 1e6);
    private static readonly Shape<StimulusTime> s_time = Shapes.DurationNs("0 s", "1000 h").Select(ns => new StimulusTime(ns));

    public static Shape<Mirror> Mirror { get; } = new ListShape<char>("a list of axes, such as [x]", new WordShape<char>(("x", 'x'), ("y", 'y'), ("z", 'z')), 1, 3)
        .Select((axes, node, reading) =>
        {
            if (axes.Distinct().Count() != axes.Count) { reading.Refuse(node, "an axis twice", "each axis once"); }
            return new Mirror(axes);
        });

    public static Shape<Rotate> Rotate { get; } = MapShape.Of<Rotate>(null, "a map of angles, such as {z: 90 deg}", keys =>
    {
        keys.Fewest = 1;
        var all = new[] { "x", "y", "z" }.Select(axis => keys.Optional(axis, Shapes.Quantity(UnitKind.Angle, "-3600 deg", "3600 deg"), $"Angle about {axis}.")).ToList();
        return (entries, _) => new([.. entries.Node.Entries.Select(e => new Rotation(e.Key.Text[0], entries.Get(all.Single(k => k.Name == e.Key.Text))))]);
    });

    public static Shape<Scale> Scale { get; } = new EitherShape<Scale>("a factor, or a map of channels such as {ax: 1.02}",
        scalar: s_factor.Select(factor => new Scale(factor, new Dictionary<string, double>())),
        map: PerChannel("a map of factors, such as {ax: 1.02}", _ => s_factor, name => $"Factor on {name}.").Select(factors => new Scale(1, factors)));

    public static Shape<Offset> Offset { get; } = PerChannel("a map of amounts, such as {ax: 20 mg, gz: 1 dps}", name => ColumnUse.IsAcceleration(name)
        ? Shapes.Quantity(UnitKind.Acceleration, "-1000 g", "1000 g") : Shapes.Quantity(UnitKind.AngularRate, "-100000 dps", "100000 dps"), name => $"Added to {name}.")
        .Select(offsets => new Offset(offsets));

    public static Shape<Retime> Stretch { get; } = Shapes.Number(Retime.LeastStretch / 1000.0, Retime.MostStretch / 1000.0).Select((factor, node, reading) =>
    {
        double permille = Math.Round(factor * 1000);
        if (Math.Abs(permille - factor * 1000) > 1e-6) { reading.Refuse(node, node.Shown, "a factor with at most three decimals"); }
        return new Retime((int)permille, null);
    });

    public static Shape<Mix> Mix { get; } = MapShape.Of<Mix>("Mixes", "a map such as {with: lorry.csv, gain: 0.5}", keys =>
    {
        var with = keys.Required("with", new EitherShape<MixSource>("the path of a recording, or a made signal such as {tone: 16 Hz, peak: 50 mg, axis: z, for: 20 s}",
            scalar: OpenDataPath.Shape("the path of a recording").Select(path => (MixSource)new MixedRecording(path, null)),
            map: SynthShapes.Mixed.Select(made => (MixSource)made)), "The other motion: a recording, less its mean, or what a made signal adds to rest.");
        var gain = keys.Default("gain", s_factor, "1", "Factor on it.");
        var at = keys.Default("at", s_time, "0 s", "Where it starts, in the step's time.");
        var format = keys.Optional("format", ForeignShape.Shape, "How to read a recording that is not in the native form.");
        keys.Check((entries, reading) =>
        {
            if (entries.Has(format) && entries.TryGet(with, out var source) && source is MixedSignal)
            {
                reading.Faults.Add(entries.NodeOf(format), $"format beside a made signal in {entries.Node.Path}", "format only beside a recording", "remove it");
            }
        });
        return (entries, _) =>
        {
            MixSource source = entries.Get(with) is MixedRecording other ? other with { Format = entries.Maybe(format) } : entries.Get(with);
            return new(source) { Gain = entries.Get(gain), At = entries.Get(at) };
        };
    });

    public static Shape<Filter> Filter { get; } = MapShape.Of<Filter>(null, "a map with lowpass, highpass or bandpass, such as {lowpass: 20 Hz}", keys =>
    {
        var lowpass = keys.Optional("lowpass", Shapes.Hertz, "Passes what is slower than this.");
        var highpass = keys.Optional("highpass", Shapes.Hertz, "Passes what is faster than this; takes gravity away.");
        var bandpass = keys.Optional("bandpass", new ListShape<double>("two frequencies, such as [0.5 Hz, 20 Hz]", Shapes.Hertz, 2, 2), "Passes what lies between; takes gravity away.");
        var order = keys.Default("order", Shapes.Integer(1, Signals.Transforms.Filter.HighestOrder), "4", "Order of the filter (of a bandpass: at each edge).");
        var zeroPhase = keys.Default("zero_phase", Shapes.Flag, "false", "Forward and backward: no delay, twice the attenuation. false: causal, with a filter's delay.");
        keys.ExactlyOne(lowpass, highpass, bandpass);
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(bandpass, out var band) && band[0] >= band[1]) { reading.Refuse(entries.NodeOf(bandpass), "a band without width", "the lower frequency first"); }
        });
        return (entries, _) => new(entries.MaybeValue(highpass) ?? entries.Maybe(bandpass)?[0], entries.MaybeValue(lowpass) ?? entries.Maybe(bandpass)?[1],
            entries.Get(order), entries.Get(zeroPhase));
    });

    public static Shape<Noise> Noise { get; } = Shapes.Quantity(UnitKind.Acceleration, "0 g", "100 g").Select(g => new Noise(g));

    public static Shape<Dropouts> Dropouts { get; } = MapShape.Of<Dropouts>(null, "a map with share and length, such as {share: 2 %, length: 200 ms}", keys =>
    {
        var share = keys.Required("share", Shapes.Quantity(UnitKind.Share, "0", "0.999", aboveMin: true), "Share of the samples that are lost.");
        var length = keys.Required("length", Shapes.Duration("0 s", "1 h", aboveMin: true), "Of one gap.");
        var fill = keys.Default("fill", new WordShape<DropoutFill>(("hold", DropoutFill.Hold), ("zero", DropoutFill.Zero)), "hold", "hold: the last value before the gap; zero: 0 on all channels.");
        return (entries, _) => new(entries.Get(share), entries.Get(length), entries.Get(fill));
    });

    /// <summary>Transforms in an order of one's own, each a map with one key.</summary>
    public static Shape<IReadOnlyList<MotionTransform>> List { get; } = new ListShape<MotionTransform>("a list of transforms, such as [{rotate: {z: 90 deg}}, {resample: 50 Hz}]",
        new OneKeyShape<MotionTransform>("a transform",
            Case.Of("cut", Cut(), "Part of it."), Item("mirror", Mirror), Item("rotate", Rotate), Item("scale", Scale), Item("offset", Offset),
            Item("stretch", Stretch), Case.Of("resample", Shapes.Rate.Select(rate => (MotionTransform)new Retime(1000, rate)), "Another rate."),
            Item("mix", Mix), Item("filter", Filter), Item("noise", Noise), Item("dropouts", Dropouts)), 1, 100);

    private static IKey<MotionTransform> Item<T>(string name, Shape<T> shape) where T : MotionTransform => Case.Of(name, shape.Select(t => (MotionTransform)t), "As beside play.");

    private static MapShape<MotionTransform> Cut() => MapShape.Of<MotionTransform>(null, "a map with from or to, such as {from: 12 s, to: 74 s}", keys =>
    {
        keys.Fewest = 1;
        var from = keys.Optional("from", s_time, "Start. Absent: that of the recording.");
        var to = keys.Optional("to", s_time, "End. Absent: that of the recording.");
        return (entries, _) => new Cut(entries.MaybeValue(from), entries.MaybeValue(to));
    });

    private static MapShape<IReadOnlyDictionary<string, double>> PerChannel(string form, Func<string, Shape<double>> value, Func<string, string> doc) =>
        MapShape.Of<IReadOnlyDictionary<string, double>>(null, form, keys =>
        {
            keys.Fewest = 1;
            var all = ColumnUse.ChannelNames.Select(name => keys.Optional(name, value(name), doc(name))).ToList();
            return (entries, _) => all.Where(entries.Has).ToDictionary(k => k.Name, entries.Get);
        });
}
