using System.Collections.Concurrent;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Everything the device says, from the rig. Patterns are compiled once and shared; class names and buffers belong to one
/// decoder, so each gets formats of its own.
/// </summary>
internal sealed class IncomingFormats(DeviceDescription device, IReadOnlyList<string> channels)
{
    private readonly ConcurrentDictionary<string, TextPattern> _patterns = new(StringComparer.Ordinal);
    private readonly Numbering _numbers = Numbering.Of(device);

    /// <summary>Messages that are known and of no interest: tried where nothing else fits.</summary>
    /// <exception cref="InvalidDataException">A description cannot be used; says why.</exception>
    public IReadOnlyList<MessageFormat> NewIgnored() =>
        [.. (device.Says.Ignore ?? []).Select(m => New(m, new(MessageKind.Ignored, "says: ignore", 0, null, [], _numbers)))];

    /// <summary>One list for each output and each other kind; within a list the first that matches counts.</summary>
    /// <exception cref="InvalidDataException">A description cannot be used; says why.</exception>
    public IReadOnlyList<IReadOnlyList<MessageFormat>> NewFormats()
    {
        var outputs = new Dictionary<string, List<MessageFormat>>(StringComparer.Ordinal);
        var all = new List<IReadOnlyList<MessageFormat>>();
        IReadOnlyList<DecisionFormat> decisions = device.Says.Decisions;
        for (int i = 0; i < decisions.Count; i++)
        {
            DecisionFormat decision = decisions[i];
            if (!outputs.TryGetValue(decision.Output, out List<MessageFormat>? list))
            {
                list = [];
                outputs.Add(decision.Output, list);
                all.Add(list);
            }
            int output = decisions.TakeWhile(d => d.Output != decision.Output).Count();
            var classes = new ClassNames(decision.Field, decision.Classes ?? device.Classes);
            list.Add(New(decision.Message,
                new(MessageKind.Decision, $"says: decisions: {decision.Output}", output, classes, [], _numbers)));
        }
        Add(MessageKind.Credit, "says: credit", device.Says.Credit);
        Add(MessageKind.Booted, "says: booted", device.Says.Booted);
        Add(MessageKind.Sample, "says: sample", device.Says.Sample, channels);
        Add(MessageKind.Features, "says: features", device.Says.Features, device.Says.FeatureNames);
        Add(MessageKind.Counters, "says: counters", device.Says.Counters?.Answer);
        Add(MessageKind.Identity, "identity: answer", device.Identity?.Answer);
        Add(MessageKind.Clock, "clock: answer", device.Clock?.Answer);
        CheckTickUnits();
        return all;

        void Add(MessageKind kind, string where, IncomingMessage? message, IReadOnlyList<string>? values = null)
        {
            if (message is not null) { all.Add([New(message, new(kind, where, 0, null, values ?? [], _numbers))]); }
        }
    }

    private MessageFormat New(IncomingMessage message, MessageRole role)
    {
        if (message.Layout is { } layout)
        {
            return device.Framing.Kind == FramingKind.Lines
                ? throw new InvalidDataException($"{role.Where}: fields in a line of text; expected a pattern, or another framing")
                : new BinaryMessageFormat(layout, device.Framing.TypeField, role);
        }
        if (message.Pattern is not { } pattern) { throw new InvalidDataException($"{role.Where}: neither pattern nor fields; expected one of them"); }
        if (device.Framing.TypeField is not null)
        {
            throw new InvalidDataException($"{role.Where}: a pattern although the framing has a type field; expected fields, or no type field");
        }
        return new TextMessageFormat(_patterns.GetOrAdd(pattern, text => new TextPattern(text, role.Where)), role);
    }

    /// <summary>Ticks are passed on as the device says them, in units of its clock answer: a decision in another unit would be misread.</summary>
    private void CheckTickUnits()
    {
        if (UnitOf(device.Clock?.Answer) is not { } clock) { return; }
        foreach (DecisionFormat decision in device.Says.Decisions)
        {
            if (UnitOf(decision.Message) is { } unit && unit != clock)
            {
                throw new InvalidDataException($"says: decisions: {decision.Output}: time in {unit}, clock: answer in {clock}; expected the same unit in both");
            }
        }
    }

    private string? UnitOf(IncomingMessage? message)
    {
        IEnumerable<string> names = message?.Layout?.Fields.Select(f => f.Name)
            ?? (message?.Pattern is { } pattern ? _patterns[pattern].Groups : []);
        return names.FirstOrDefault(name => name is "t_us" or "t_ms");
    }
}
