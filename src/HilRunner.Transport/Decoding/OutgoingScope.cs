namespace HilRunner.Transport.Decoding;

/// <summary>Which names one kind of outgoing message may use.</summary>
/// <param name="Where">Entry of the rig, for messages.</param>
/// <param name="Names">Fixed names and what they stand for.</param>
/// <param name="Channels">Channel names, for samples; otherwise empty.</param>
/// <param name="SamplesPerMessage">More than 1: channels must stand in the repeated part.</param>
internal sealed record OutgoingScope(
    string Where, IReadOnlyDictionary<string, OutgoingName> Names, IReadOnlyList<string> Channels, int SamplesPerMessage = 1)
{
    public static OutgoingScope Begin { get; } = new("hears: begin",
        new Dictionary<string, OutgoingName> { ["rate_mhz"] = OutgoingName.RateMilliHertz, ["count"] = OutgoingName.Count }, []);

    public static OutgoingScope End { get; } = new("hears: end", new Dictionary<string, OutgoingName> { ["count"] = OutgoingName.Count }, []);

    public static OutgoingScope Other(string where) => new(where, new Dictionary<string, OutgoingName> { ["token"] = OutgoingName.Token }, []);

    public static OutgoingScope Samples(IReadOnlyList<string> channels, int samplesPerMessage) => new("hears: sample",
        new Dictionary<string, OutgoingName> { ["n"] = OutgoingName.SampleNumber,
            ["batch"] = OutgoingName.BatchNumber, ["count"] = OutgoingName.Count }, channels, samplesPerMessage);

    /// <param name="repeated">The name stands in the part that is repeated for each sample.</param>
    /// <exception cref="InvalidDataException">No such name here; lists those there are.</exception>
    public OutgoingSource Resolve(string name, bool repeated)
    {
        if (Names.TryGetValue(name, out OutgoingName known)) { return new(known, -1); }
        for (int channel = 0; channel < Channels.Count; channel++)
        {
            if (Channels[channel] != name) { continue; }
            return repeated || SamplesPerMessage == 1
                ? new(OutgoingName.Channel, channel)
                : throw new InvalidDataException(
                    $"{Where}: {name} stands outside the repeated part although a message holds {SamplesPerMessage} samples; expected it inside [[ ]] (text) or under repeat (binary)");
        }
        string[] all = [.. Names.Keys, .. Channels];
        throw new InvalidDataException($"{Where}: unknown name {name}; expected " + (all.Length == 0 ? "none" : $"one of {string.Join(", ", all)}"));
    }
}
