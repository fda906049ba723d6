using HilRunner.Core.Documents;
using HilRunner.Core.Links;

namespace HilRunner.Core.Rigs;

/// <summary>The device and its format.</summary>
internal static class DeviceShape
{
    public static Shape<DeviceDescription> Shape { get; } = MapShape.Of<DeviceDescription>("Device", "a device", keys =>
    {
        var link = keys.Required("link", LinkShape.Shape, "How to reach the device.");
        var onOpen = keys.Default("on_open", WaitShapes.OnOpen, "{}", "What to do with the lines and how long to wait after opening.");
        var framing = keys.Required("framing", FramingShape.Shape, "How bytes become frames.");
        var hears = keys.Default("hears", Hears(), "{}", "What the device hears.");
        var says = keys.Required("says", Says(), "What the device says.");
        var classes = keys.Optional("classes", ClassShapes.Map, ClassShapes.ClassesDoc);
        var quiet = keys.Default("quiet", Shapes.Duration("10 ms", "30 s"), "1 s", "After the last sample a run ends once the device has said nothing for this long. Longer for devices that report late.");
        var stale = keys.Optional("stale_after", Shapes.Duration("0 s", "24 h", aboveMin: true), "The observed class becomes (none) that long after the last message. For devices that report every window.");
        var poll = keys.Optional("poll", Poll(), "For devices that only answer.");
        var input = keys.Required("input", InputShape.Shape, "The samples that the device takes.");
        var identity = keys.Optional("identity", Identity(), "Asks the device who it is: groups product, version, image; slot and confirmed of a device with two images, which is then asked before and after the first reset.");
        var clock = keys.Optional("clock", Clock(), "Asks the device for its time.");
        var wake = keys.Optional("wake", Wake(), "For devices that sleep.");
        var pace = keys.Default("pace", new WordShape<Pace>(("host", Pace.Host), ("credit", Pace.Credit), ("device", Pace.Device)), "host",
            "Who sets the pace: the host's clock, the device's credit, or the device itself.");
        keys.Check((entries, reading) => new RigChecks(entries, reading).Run(link, onOpen, framing, hears, says, input, clock, pace));
        return (entries, _) =>
        {
            var map = entries.Maybe(classes);
            var described = entries.Get(says);
            var lines = entries.Get(onOpen);
            return new DeviceDescription
            {
                Link = entries.Get(link) is SerialLinkSpec serial ? serial with { Dtr = lines.Dtr, Rts = lines.Rts } : entries.Get(link),
                OnOpen = lines,
                Framing = entries.Get(framing),
                Hears = entries.Get(hears),
                Says = described with { Decisions = [.. described.Decisions.Select(d => d.Field is null && map?.Field is { } field ? d with { Field = field } : d)] },
                Classes = map?.Names ?? new Dictionary<string, string>(),
                Quiet = entries.Get(quiet),
                StaleAfter = entries.MaybeValue(stale),
                Poll = entries.Maybe(poll),
                Input = entries.Get(input),
                Identity = entries.Maybe(identity),
                Clock = entries.Maybe(clock),
                Wake = entries.Maybe(wake),
                Pace = entries.Get(pace),
            };
        };
    });

    private static MapShape<Hears> Hears() => MapShape.Of<Hears>("What the device hears", "a map with sample or stream", keys =>
    {
        var begin = keys.Optional("begin", MessageShapes.Outgoing("rate_mhz", "count"), "Before the first sample; {rate_mhz}: rate in millihertz, {count}: number of samples.");
        var sample = keys.Optional("sample", MessageShapes.Outgoing(["n", "batch", "count", .. MessageShapes.Channels]),
            "One sample: {n} counts samples from 0, {batch} counts messages from 0, {count}: samples in this message, channels in counts. Binary fields n and batch of any width wrap. With samples_per_message the part in [[ ]] is repeated for each sample. Absent: nothing can be injected; the device is recorded, or moved by hand.");
        var end = keys.Optional("end", MessageShapes.Outgoing("count"), "After the last sample; {count}: number of samples.");
        var stream = keys.Optional("stream", Stream(), "For recording: makes the device say what its own sensor measures (says.sample). Absent: it does so by itself, or never.");
        var per = keys.Default("samples_per_message", Shapes.Integer(1, 1024), "1", "Samples in one message, 1 to 1024.");
        return (entries, _) => new Hears { Begin = entries.Maybe(begin), Sample = entries.Maybe(sample), End = entries.Maybe(end), Stream = entries.Maybe(stream), SamplesPerMessage = entries.Get(per) };
    });

    private static MapShape<StreamSwitch> Stream() => MapShape.Of<StreamSwitch>(null, "a map with on", keys =>
    {
        var on = keys.Required("on", MessageShapes.Outgoing(), "The message that starts it.");
        var off = keys.Optional("off", MessageShapes.Outgoing(), "The message that ends it.");
        return (entries, _) => new StreamSwitch(entries.Get(on), entries.Maybe(off));
    });

    private static MapShape<Says> Says() => MapShape.Of<Says>("What the device says", "a map with decisions", keys =>
    {
        var decisions = keys.Required("decisions", DecisionsShape.Shape, "A pattern, or a map of outputs, each a pattern, {pattern: …} or a binary frame. Groups: class, n (last sample consumed), t_us or t_ms or ticks, score.");
        var credit = keys.Optional("credit", MessageShapes.Incoming(false, ["n", "batch"]),
            "Flow control: samples up to n (or up to the last of batch) are consumed.");
        var counters = keys.Optional(
            "counters", Counters(),
            "The device's own counters, asked before begin and after the last sample: the best evidence that everything arrived.");
        var numbers = keys.Optional(
            "n", new WordShape<SampleNumbers>(("counted", SampleNumbers.Counted), ("repeated", SampleNumbers.Repeated)),
            "What n (or batch) of decisions and credit is: counted: the device counts the samples that came; repeated: it says the number that it was told. Absent: repeated where hears.sample tells it a number, else counted.");
        var bits = keys.Default("bits", Widths(),
            "{}", "Widths of counters that wrap, in text messages. Binary fields have the width of their type.");
        var every = keys.Optional("every", Shapes.Duration("1 ms", "1 h"),
            "For devices that report every window: how often, in time of the motion. Where it is absent and stale_after is given, it is learnt in the run.");
        var ignore = keys.Optional(
            "ignore", new ListShape<IncomingMessage>("a list of patterns or binary frames", MessageShapes.Incoming(true), 0, 64),
            "Messages that are known and of no interest. Where it is given, even as [], all that the device says is described, and health.lines_unknown is 0 unless it says otherwise.");
        var booted = keys.Optional("booted", MessageShapes.Incoming(true), "The banner after a start; seen in mid-run it is a reset.");
        var sample = keys.Optional("sample", MessageShapes.Incoming(false), "What the device measured, for recording: a group for each input channel.");
        var features = keys.Optional("features", MessageShapes.Incoming(true, ["n"]), "What it computed of the window that ends with sample n: a group or field for each feature, named as the host model's with _ for the brackets, such as deviation_main. For hil reproduce, which compares them one by one.");
        return (entries, _) => new Says
        {
            Decisions = entries.Get(decisions),
            Credit = entries.Maybe(credit),
            Counters = entries.Maybe(counters),
            N = entries.MaybeValue(numbers),
            Bits = entries.Get(bits),
            Every = entries.MaybeValue(every),
            Ignore = entries.Maybe(ignore),
            Booted = entries.Maybe(booted),
            Sample = entries.Maybe(sample),
            Features = entries.Maybe(features),
        };
    });

    private static MapShape<CountersQuery> Counters() =>
        MapShape.Of<CountersQuery>("Counters", "a map with ask and answer", keys =>
    {
        var ask = keys.Required("ask", MessageShapes.Outgoing(), "The question.");
        var answer = keys.Required("answer", MessageShapes.Incoming(true, [.. CountersQuery.Names]),
            "The answer: received (samples taken), bad (messages refused), lost (samples that the device saw missing), overrun (lost in its receiver), said (messages handed to its link), dropped (messages that it could not send); those that it has.");
        var from = keys.Default("from", new WordShape<bool>(("boot", false), ("begin", true)), "boot",
            "Since when they count: boot: they run on, and the value before begin is taken off; begin: they begin at 0 with the begin message.");
        var bits = keys.Default("bits", Shapes.Integer(8, 64), "32", "Their width in bits; they wrap.");
        var counts = keys.Default("said", new WordShape<bool>(("all", false), ("decisions", true)), "all",
            "What said counts: all: decisions, credit, measured samples and features, not answers to questions and not banners; decisions: those alone.");
        return (entries, _) =>
            new CountersQuery(entries.Get(ask), entries.Get(answer)) { FromBegin = entries.Get(from),
                Bits = entries.Get(bits), SaidCountsDecisions = entries.Get(counts) };
    });

    private static MapShape<IReadOnlyDictionary<string, int>> Widths() =>
        MapShape.Of<IReadOnlyDictionary<string, int>>(null, "a map from n, batch and seq to bits", keys =>
    {
        Key<int>[] widths =
            [.. ((string[])["n", "batch", "seq"]).Select(
                name => keys.Optional(name, Shapes.Integer(8, 64), $"Bits of the group {name}."))];
        return (entries, _) => widths.Where(w => entries.Has(w))
            .ToDictionary(w => w.Name, w => entries.MaybeValue(w)!.Value, StringComparer.Ordinal);
    });

    private static MapShape<Poll> Poll() => MapShape.Of<Poll>(null, "a map with send and every", keys =>
    {
        var send = keys.Required("send", MessageShapes.Outgoing(), "The question.");
        var every = keys.Required("every", Shapes.Duration("1 ms", "1 h"), "How often it is asked.");
        return (entries, _) => new Poll(entries.Get(send), entries.Get(every));
    });

    private static MapShape<IdentityQuery> Identity() => MapShape.Of<IdentityQuery>(null, "a map with ask and answer", keys =>
    {
        var ask = keys.Required("ask", MessageShapes.Outgoing(), "The question.");
        var answer = keys.Required("answer", MessageShapes.Incoming(true, ["product", "version", "image", "slot"]), "The answer, with named groups.");
        var same = keys.Default("same", new ListShape<BuildMark>("a list of version and image", new WordShape<BuildMark>(("version", BuildMark.Version), ("image", BuildMark.Image)), 0, 2), "[]",
            "What must agree with the build that is given, or nothing is played: version with --build, image with the SHA-256 of --image (its first digits, at least 6).");
        keys.Check((entries, reading) =>
        {
            if (!entries.TryGet(answer, out var described) || !entries.TryGet(same, out var marks)) { return; }
            foreach (string missing in marks.Select(m => m.ToString().ToLowerInvariant()).Where(m => !described.Names.Contains(m)))
            {
                reading.Faults.Add(entries.NodeOf(same), $"{missing} in {entries.NodeOf(same).Path}, which the answer does not hold", $"a named group {missing} in answer", "add it to the pattern");
            }
        });
        return (entries, _) => new IdentityQuery(entries.Get(ask), entries.Get(answer)) { Same = entries.Get(same) };
    });

    private static MapShape<ClockQuery> Clock() => MapShape.Of<ClockQuery>("Clock", "a map with ask, answer, bits, every", keys =>
    {
        var ask = keys.Required("ask", MessageShapes.Outgoing("token"), "The question; {token} comes back in the answer.");
        var answer = keys.Required("answer", MessageShapes.Incoming(false, ["token"], MessageShapes.TimeGroups), "The answer: token, and the time as t_us, t_ms or ticks.");
        var bits = keys.Default("bits", Shapes.Integer(8, 64), "32", "Width of the device's clock in bits, 8 to 64; it wraps.");
        var tick = keys.Optional("tick", new QuantityShape(UnitKind.Duration, "0 s", "10 s", 0, aboveMin: true), "Length of one tick, such as 1 us; needed with ticks, and only there.");
        var every = keys.Default("every", Shapes.Duration("0 s", "1 min"), "500 ms", "How often it is asked while samples are played on schedule; 0 s: only before and after, for devices that hear nothing but samples then.");
        var tolerance = keys.Default("tolerance", Shapes.Quantity(UnitKind.Skew, "0 ppm", "100000 ppm", aboveMin: true), "500 ppm", "How far off the clock's rate is at most: what is assumed until the answers show it, and where they contradict it they win. A crystal keeps to 100 ppm, a resonator to 0.5 %; say 3 % for a clock without either.");
        keys.Check((entries, reading) => RigChecks.Tick(entries, answer, tick, reading));
        return (entries, _) =>
        {
            var names = MessageShapes.NamesIn(entries.Get(answer));
            double tickNs = names.Contains("t_us") ? 1_000 : names.Contains("t_ms") ? 1_000_000 : (double)entries.Get(tick);
            return new ClockQuery(entries.Get(ask), entries.Get(answer), entries.Get(bits), tickNs, entries.Get(every), (double)entries.Get(tolerance));
        };
    });

    private static MapShape<Wake> Wake() => MapShape.Of<Wake>(null, "a map with send and delay", keys =>
    {
        var send = keys.Required("send", MessageShapes.Outgoing(), "The message that wakes it.");
        var delay = keys.Required("delay", Shapes.Duration("0 s", "60 s"), "How long until it listens.");
        return (entries, _) => new Wake(entries.Get(send), entries.Get(delay));
    });
}
