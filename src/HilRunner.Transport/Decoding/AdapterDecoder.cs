using System.Globalization;
using System.Text;
using System.Text.Json;
using HilRunner.Core.Files;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// Hands received bytes to the adapter program and takes messages from it. When it fails, <see cref="Failure"/> says why and everything from then on is
/// counted as one bad frame and discarded bytes: that can never end in a pass.
/// </summary>
internal sealed class AdapterDecoder : IDeviceDecoder
{
    private static readonly Dictionary<string, MessageKind> Kinds =
        Enum.GetValues<MessageKind>().ToDictionary(kind => kind.ToString().ToLowerInvariant(), StringComparer.Ordinal);

    private readonly IAdapter _adapter;
    private readonly DeviceDescription _device;
    private readonly List<string> _outputs;
    private readonly ClassNames[] _classes;
    private readonly ArrivalLog _arrivals = new();
    private readonly List<DeviceMessage> _read = [];
    private long _messages, _bad, _unknown, _discarded;

    public AdapterDecoder(IAdapter adapter, DeviceDescription device)
    {
        (_adapter, _device) = (adapter, device);
        _outputs = [.. device.Outputs];
        _classes = [.. device.Says.Decisions.Select(d => new ClassNames(d.Field, d.Classes ?? device.Classes))];
    }

    public DecoderCounts Counts => new(_messages, _bad, _unknown, _discarded);

    public string? Failure { get; private set; }

    public void Finish() => _adapter.Finish();

    public void Feed(ReadOnlySpan<byte> bytes, HostTime arrival, IMessageSink sink)
    {
        if (bytes.IsEmpty) { return; }
        _arrivals.Add(bytes.Length, arrival);
        if (Failure is not null)
        {
            _discarded += bytes.Length;
            return;
        }
        string hex = Convert.ToHexString(bytes);
        try
        {
            // Handed over only when the whole answer is good, and outside the question: what the sink throws is no fault of the adapter.
            _read.Clear();
            JsonElement done =
                _adapter.Ask(AdapterFormat.Line(json => json.WriteString("decode", hex)), line => _read.Add(Read(line)));
            _bad += Number(done, "bad") ?? 0;
            _unknown += Number(done, "unknown") ?? 0;
            _discarded += Number(done, "discarded") ?? 0;
        }
        catch (Exception exception) when (exception is InvalidDataException or InvalidOperationException or FormatException)
        {
            Failure = exception.Message;
            _bad++;
            _discarded += bytes.Length;
            return;
        }
        _messages += _read.Count;
        foreach (DeviceMessage message in _read) { sink.OnMessage(message); }
    }

    public void Dispose() => _adapter.Dispose();

    private static long? Number(JsonElement line, string name) => !line.TryGetProperty(name, out JsonElement value) ? null
        : value.ValueKind == JsonValueKind.Number && value.TryGetInt64(out long number) ? number : throw NoWhole(name);

    private static ulong? Unsigned(JsonElement line, string name) => !line.TryGetProperty(name, out JsonElement value) ? null
        : value.ValueKind == JsonValueKind.Number && value.TryGetUInt64(out ulong number) ? number : throw NoWhole(name);

    private static FormatException NoWhole(string name) => new($"{name} is no whole number that fits");

    private DeviceMessage Read(JsonElement line)
    {
        string kindName = line.GetProperty("message").GetString() ?? "";
        if (!Kinds.TryGetValue(kindName, out MessageKind kind)) { throw new FormatException($"message \"{kindName}\"; expected one of {string.Join(", ", Kinds.Keys)}"); }
        long first = Number(line, "first") ?? throw new FormatException("no first; expected the place of its first byte");
        long last = Number(line, "last") ?? throw new FormatException("no last; expected the place of its last byte");
        if (first < 0 || last < first || last >= _arrivals.Received)
        {
            throw new FormatException($"a message from byte {first} to {last}; expected places among the {_arrivals.Received} bytes received");
        }
        int output = kind == MessageKind.Decision ? Output(line) : 0;
        ClassName name = kind == MessageKind.Decision ? Class(line, output) : default;
        return new()
        {
            Kind = kind,
            Output = output,
            Class = name.Known,
            UnknownClass = name.Unknown,
            N = Number(line, "n"),
            Seq = (ulong?)Number(line, "seq"),
            Ticks = Unsigned(line, "ticks"),
            Confidence = line.TryGetProperty("score", out JsonElement score) ? JsonWords.Finite(score, "score") : null,
            Token = Unsigned(line, "token"),
            Values = Values(line, kind),
            Fields = line.TryGetProperty("fields", out JsonElement fields)
                ? Fields(fields)
                : null,
            FirstByte = _arrivals.Of(first),
            LastByte = _arrivals.Of(last),
            WireLength = (int)(last - first + 1),
        };
    }

    /// <summary>A sample has one for each channel, features one for each name: what reads them counts on it.</summary>
    private double[] Values(JsonElement line, MessageKind kind)
    {
        double[] values = line.TryGetProperty("values", out JsonElement said)
            ? [.. said.EnumerateArray().Select(v => JsonWords.Finite(v, "values"))] : [];
        int? expected = kind switch { MessageKind.Sample =>
            _device.Input.Channels.Count, MessageKind.Features => _device.Says.FeatureNames.Count, _ => null };
        return expected is null || values.Length == expected ? values
            : throw new FormatException(
                $"{values.Length} values in a {kind.ToString().ToLowerInvariant()} message; expected {expected}");
    }

    private static Dictionary<string, string> Fields(JsonElement said)
    {
        var fields = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (JsonProperty field in said.EnumerateObject()) { fields[field.Name] = field.Value.ToString(); }
        return fields;
    }

    private int Output(JsonElement line)
    {
        if (!line.TryGetProperty("output", out JsonElement name)) { return 0; }
        int index = _outputs.IndexOf(name.GetString() ?? "");
        return index >= 0 ? index : throw new FormatException($"output {name}; expected one of {string.Join(", ", _outputs)}");
    }

    private ClassName Class(JsonElement line, int output)
    {
        JsonElement value = line.GetProperty("class");
        string text = value.ValueKind == JsonValueKind.Number ? value.GetInt64().ToString(CultureInfo.InvariantCulture) : value.GetString() ?? "";
        return _classes[output].TryName(Encoding.UTF8.GetBytes(text), out ClassName name)
            ? name
            : throw new FormatException($"class {text}; expected a number, because the rig takes the class from a bit field");
    }
}
