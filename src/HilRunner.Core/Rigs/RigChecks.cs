using HilRunner.Core.Documents;
using HilRunner.Core.Links;

namespace HilRunner.Core.Rigs;

/// <summary>What must hold between the parts of a device's description. Each check runs when the parts it looks at are usable.</summary>
internal sealed class RigChecks(Entries device, Reading reading)
{
    public void Run(Key<LinkSpec> link, Key<OnOpen> onOpen, Key<FramingSpec> framing, Key<Hears> hears, Key<Says> says, Key<InputSpec> input,
        Key<ClockQuery> clock, Key<Pace> pace)
    {
        bool heard = device.TryGet(hears, out var hearing), said = device.TryGet(says, out var saying);
        if (device.TryGet(framing, out var frames))
        {
            if (heard)
            {
                CheckFrames(frames, device.NodeOf(hears),
                    [("begin", hearing!.Begin?.Layout), ("sample", hearing.Sample?.Layout), ("end", hearing.End?.Layout),
                    ("stream.on", hearing.Stream?.On.Layout), ("stream.off", hearing.Stream?.Off?.Layout)]);
            }
            if (said)
            {
                CheckPatterns(frames, saying!, device.NodeOf(says));
                CheckFrames(frames, device.NodeOf(says), [
                    .. saying!.Decisions.Select(d => (d.Output.Length == 0 ? "decisions" : $"decisions.{d.Output}", d.Message.Layout)),
                    ("credit", saying.Credit?.Layout), ("counters", saying.Counters?.Ask.Layout),
                        ("counters", saying.Counters?.Answer.Layout),
                    .. (saying.Ignore ?? []).Select(m => ("ignore", m.Layout)), ("booted", saying.Booted?.Layout),
                        ("sample", saying.Sample?.Layout), ("features", saying.Features?.Layout)]);
            }
            if (device.TryGet(clock, out var asked))
            {
                CheckFrames(frames, device.NodeOf(clock), [("ask", asked.Ask.Layout), ("answer", asked.Answer.Layout)]);
            }
        }
        if (device.TryGet(input, out var samples))
        {
            if (heard && hearing!.Sample is { } sent) { CheckSample(sent, hearing.SamplesPerMessage, samples, device.NodeOf(hears)); }
            if (saying?.Sample is { } measured) { CheckMeasured(measured, samples, device.NodeOf(says)); }
        }
        if (said && device.TryGet(onOpen, out var open) && !CanWaitFor(open.Until, saying!))
        {
            reading.Faults.Add(device.NodeOf(onOpen), $"on_open waits for {open.Until}",
                "a message that device.says describes", $"add {open.Until} under says");
        }
        if (said && device.TryGet(clock, out var query)) { CheckTimeGroups(saying!, query, device.NodeOf(says)); }
        if (said && saying!.Credit is null && device.TryGet(pace, out var who) && who == Pace.Credit)
        {
            reading.Refuse(device.NodeOf(pace), "credit", "says.credit beside it", "describe the credit message, or set pace: host");
        }
        if (device.TryGet(link, out var spec) && spec is not SerialLinkSpec && device.TryGet(onOpen, out var lines) && (lines.Dtr, lines.Rts) != (LineState.Leave, LineState.Leave))
        {
            reading.Faults.Add(device.NodeOf(onOpen), "dtr or rts for a link that has no lines", "a serial link, or leave", "remove them");
        }
    }

    public static bool CanWaitFor(string? until, Says says) => until switch
    {
        "booted" => says.Booted is not null,
        "credit" => says.Credit is not null,
        "sample" => says.Sample is not null,
        _ => true,
    };

    /// <summary>tick goes with the group ticks, and only with it.</summary>
    public static void Tick(Entries clock, Key<IncomingMessage> answer, Key<decimal> tick, Reading reading)
    {
        if (!clock.TryGet(answer, out var message)) { return; }
        bool inTicks = MessageShapes.NamesIn(message).Contains("ticks");
        if (inTicks && !clock.Has(tick))
        {
            reading.Faults.Add(clock.NodeOf(answer), $"ticks without tick in {clock.Node.Path}", "tick: the length of one, such as 1 us");
        }
        if (!inTicks && clock.Has(tick))
        {
            reading.Faults.Add(clock.NodeOf(tick), $"tick beside a time in t_us or t_ms in {clock.Node.Path}", "no tick",
                "remove it, or name the group ticks");
        }
    }

    private void CheckFrames(FramingSpec framing, Node at, IEnumerable<(string Name, BinaryLayout? Layout)> messages)
    {
        foreach (var (name, layout) in messages)
        {
            if (layout is null) { continue; }
            string where = $"{at.Path}.{name}";
            Node place = at is MapNode map ? map[name.Split('.')[0]] ?? at : at;
            if (framing.Kind == FramingKind.Lines) { reading.Faults.Add(place, $"{where} is a binary frame", "a text: the framing is lines", "set another framing"); }
            else if (framing.Kind != FramingKind.Adapter && framing.TypeField is null && layout.Type is not null)
            {
                reading.Faults.Add(place, $"{where} has a type", "no type: the framing has no type field", "add type to the framing");
            }
            else if (framing.TypeField is not null && layout.Type is null)
            {
                reading.Faults.Add(place, $"{where} has no type", "a type: the framing has a type field", "add type to the message");
            }
        }
    }

    private void CheckPatterns(FramingSpec framing, Says says, Node at)
    {
        if (framing.TypeField is null) { return; }
        var all = says.Decisions.Select(d => ("decisions", (IncomingMessage?)d.Message))
            .Concat([("credit", says.Credit), ("booted", says.Booted), ("sample", says.Sample), ("features", says.Features),
                ("counters", says.Counters?.Answer), .. (says.Ignore ?? []).Select(m => ("ignore", (IncomingMessage?)m))]);
        foreach (var (name, message) in all.Where(m => m.Item2?.Pattern is not null))
        {
            reading.Faults.Add((at as MapNode)?[name] ?? at, $"a pattern in {at.Path}.{name}",
                "a binary frame: the framing has a type field", "give fields, or remove type from the framing");
        }
    }

    private void CheckSample(OutgoingMessage sample, int perMessage, InputSpec input, Node at)
    {
        Node place = (at as MapNode)?["sample"] ?? at;
        string[] sent = sample.Template is { } template ? [.. MessageShapes.Placeholders(template)]
            : [.. sample.Layout!.Fields.Concat(sample.Layout.Repeat).Select(f => f.Name)];
        string[] channels = [.. input.Channels.Select(c => c.Name)];
        foreach (string missing in channels.Except(sent))
        {
            reading.Faults.Add(place, $"the channel {missing} is missing from hears.sample", $"every channel of input: {string.Join(", ", channels)}");
        }
        foreach (string extra in sent.Intersect(MessageShapes.Channels).Except(channels))
        {
            reading.Faults.Add(place, $"the channel {extra} in hears.sample", $"a channel of input: {string.Join(", ", channels)}", "add it to input.channels");
        }
        bool repeats = sample.Template is { } text ? HasBlock(text, place) : sample.Layout!.Repeat.Count > 0;
        if (perMessage > 1 && !repeats)
        {
            reading.Faults.Add(place, "hears.sample repeats nothing",
                "a part in [[ ]] (or repeat, in a binary frame) for samples_per_message above 1");
        }
    }

    private bool HasBlock(string template, Node place)
    {
        int open = template.IndexOf("[[", StringComparison.Ordinal), close = template.IndexOf("]]", StringComparison.Ordinal);
        bool once = open >= 0 && close > open + 2 && open == template.LastIndexOf("[[", StringComparison.Ordinal)
            && close == template.LastIndexOf("]]", StringComparison.Ordinal);
        if (!once && (open >= 0 || close >= 0)) { reading.Faults.Add(place, "unpaired [[ ]] in hears.sample", "one [[ … ]] around what is repeated"); }
        return open >= 0 || close >= 0;
    }

    private void CheckMeasured(IncomingMessage measured, InputSpec input, Node at)
    {
        var names = MessageShapes.NamesIn(measured);
        foreach (string missing in input.Channels.Select(c => c.Name).Except(names))
        {
            reading.Faults.Add((at as MapNode)?["sample"] ?? at, $"the channel {missing} is missing from says.sample",
                "a group for every channel of input");
        }
    }

    private void CheckTimeGroups(Says says, ClockQuery clock, Node at)
    {
        string[] known = [.. MessageShapes.NamesIn(clock.Answer).Intersect(MessageShapes.TimeGroups)];
        foreach (var decision in says.Decisions)
        {
            foreach (string other in MessageShapes.NamesIn(decision.Message).Intersect(MessageShapes.TimeGroups).Except(known))
            {
                reading.Faults.Add((at as MapNode)?["decisions"] ?? at, $"the time {other} in {at.Path}.decisions", $"{known[0]}, as in clock.answer",
                    "one unit for the device's clock");
            }
        }
    }
}
