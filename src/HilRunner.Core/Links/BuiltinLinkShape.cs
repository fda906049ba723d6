using HilRunner.Core.Documents;

namespace HilRunner.Core.Links;

/// <summary>The virtual device and its faults.</summary>
internal static class BuiltinLinkShape
{
    public static Shape<BuiltinLinkSpec> Shape { get; } = MapShape.Of<BuiltinLinkSpec>("Virtual device", "a map with a model", keys =>
    {
        var model = keys.Required("model", Shapes.Path("the path of a model file", "model.yaml"), "The model file that decides.");
        var protocol = keys.Default("protocol", new WordShape<VirtualDeviceProtocol>(("lines", VirtualDeviceProtocol.Lines), ("cobs", VirtualDeviceProtocol.Cobs)), "lines", "Text lines or binary frames.");
        var pty = keys.Default("pty", Shapes.Flag, "true", "false: in memory even where there are pseudo-terminals.");
        var window = keys.Default("credit_window", Shapes.Integer(0, 1_000_000), "256", "How many samples may be on the way; 0: the device gives no credit.");
        var version = keys.Default("version", Shapes.Text("a version", "1.0.0"), "1.0.0", "What the identity answer says.");
        var image = keys.Optional("image", Shapes.Text("a hexadecimal hash"), "Image hash that the identity answer says. Absent: none.");
        var think = keys.Default("think", Shapes.Duration("0 s", "60 s"), "0 s", "From consuming the sample that decides to making the decision; it goes on consuming, and the time stamp is taken at the end.");
        var delay = keys.Default("delay", Shapes.Duration("0 s", "60 s"), "0 s", "Added between a decision and its message.");
        var linkIn = keys.Default("link_in", Shapes.Duration("0 s", "60 s"), "0 s", "What every message takes from the host to it.");
        var linkOut = keys.Default("link_out", Shapes.Duration("0 s", "60 s"), "0 s", "What every message takes from it to the host.");
        var linkJitter = keys.Default("link_jitter", Shapes.Duration("0 s", "60 s"), "0 s", "Up to this much more for each message, both ways; the order is kept.");
        var offset = keys.Default("clock_offset", Shapes.Duration("-24 h", "24 h"), "0 s", "Start value of its clock.");
        var skew = keys.Default("clock_skew", Shapes.Quantity(UnitKind.Skew, "-100000 ppm", "100000 ppm"), "0 ppm", "How much faster its clock runs.");
        var lose = keys.Default("lose_bytes", Shapes.Share, "0", "Share of its bytes that are lost.");
        var garble = keys.Default("garble_bytes", Shapes.Share, "0", "Share of its bytes in which one bit is flipped.");
        var duplicate = keys.Default("duplicate_bytes", Shapes.Share, "0", "Share of its bytes that are sent twice.");
        var resetAt = keys.Optional("reset_at", Shapes.Count, "Sample number at which it resets.");
        var hangAt = keys.Optional("hang_at", Shapes.Count, "Sample number at which it hangs.");
        var unplugAt = keys.Optional("unplug_at", Shapes.Count, "Sample number at which its end of the link vanishes.");
        var loseAnswers = keys.Default("lose_answers", Shapes.Share, "0", "Share of clock questions that are never answered.");
        var slowCredit = keys.Default("slow_credit", Shapes.Duration("0 s", "60 s"), "0 s", "Wait before each credit message.");
        var seed = keys.Default("seed", Shapes.Unsigned, "1", "All random faults follow it.");
        var motion = keys.Optional("motion", Shapes.Path("the path of a recording", "recordings/morning.csv"), "What its own sensor feels, over and over. Absent: rest, with the sensor's noise.");
        var senses = keys.Default("senses", Shapes.Flag, "false", "It classifies what its own sensor feels whenever no run is played into it, as a product in use does.");
        var reports = keys.Default("reports", new WordShape<DeviceReports>(("nothing", DeviceReports.Nothing), ("samples", DeviceReports.Samples), ("features", DeviceReports.Features)), "nothing",
            "Said beside its decisions, as text lines: each sample as it understood it (d N AX AY AZ), or the features that its tree asks for, of every window (f N VALUE …).");
        keys.Check((entries, reading) =>
        {
            if (entries.TryGet(reports, out var said) && said != DeviceReports.Nothing && entries.TryGet(protocol, out var spoken) && spoken != VirtualDeviceProtocol.Lines)
            {
                reading.Refuse(entries.NodeOf(reports), said.ToString().ToLowerInvariant(), "protocol: lines beside it", "frames have no message for it");
            }
        });
        return (entries, _) => new BuiltinLinkSpec(new VirtualDeviceOptions
        {
            Model = entries.Get(model),
            Protocol = entries.Get(protocol),
            Pty = entries.Get(pty),
            CreditWindow = entries.Get(window),
            Version = entries.Get(version),
            Image = entries.Maybe(image),
            Think = entries.Get(think),
            Delay = entries.Get(delay),
            LinkIn = entries.Get(linkIn),
            LinkOut = entries.Get(linkOut),
            LinkJitter = entries.Get(linkJitter),
            ClockOffset = entries.Get(offset),
            ClockSkewPpm = entries.Get(skew),
            LoseBytes = entries.Get(lose),
            GarbleBytes = entries.Get(garble),
            DuplicateBytes = entries.Get(duplicate),
            ResetAt = entries.MaybeValue(resetAt),
            HangAt = entries.MaybeValue(hangAt),
            UnplugAt = entries.MaybeValue(unplugAt),
            LoseAnswers = entries.Get(loseAnswers),
            SlowCredit = entries.Get(slowCredit),
            Seed = entries.Get(seed),
            Motion = entries.Maybe(motion),
            Senses = entries.Get(senses),
            Reports = entries.Get(reports),
        });
    });
}
