using System.Buffers;
using System.Text;
using System.Text.Json;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Transport.Decoding;

/// <summary>A format that a program of the user speaks; README.md beside this file is its protocol. One process encodes, each decoder has its own.</summary>
internal sealed class AdapterFormat : IDeviceFormat
{
    private readonly DeviceDescription _device;
    private readonly AdapterProcess _process;

    public AdapterFormat(DeviceDescription device)
    {
        _device = device;
        _process = Start(device);
    }

    public byte[] Begin(SampleRate rate, long sampleCount) => Encode(json =>
    {
        json.WriteString("encode", "begin");
        json.WriteNumber("rate_mhz", rate.MilliHertz);
        json.WriteNumber("count", sampleCount);
    });

    public byte[] Samples(IReadOnlyList<int[]> counts, int first, int count) => Encode(json =>
    {
        json.WriteString("encode", "samples");
        json.WriteNumber("n", first);
        json.WriteStartArray("samples");
        for (int i = first; i < first + count; i++)
        {
            json.WriteStartArray();
            foreach (int[] channel in counts) { json.WriteNumberValue(channel[i]); }
            json.WriteEndArray();
        }
        json.WriteEndArray();
    });

    public byte[] End(long sampleCount) => Encode(json =>
    {
        json.WriteString("encode", "end");
        json.WriteNumber("count", sampleCount);
    });

    public byte[] Message(OutgoingMessage message, ulong token = 0) => Encode(json =>
    {
        json.WriteString("encode", "message");
        json.WriteString("text", message.Template ?? throw new InvalidDataException("framing adapter: a message of fields; expected text, which the adapter turns into bytes"));
        json.WriteNumber("token", token);
    });

    public IDeviceDecoder NewDecoder() => new AdapterDecoder(Start(_device), _device);

    /// <summary>Decodes a capture by the program, and writes down what it answers.</summary>
    public static void Keep(DeviceDescription device, ICaptureReader capture, string captureSha256, Stream kept)
    {
        AdapterMessages.Write(kept, json =>
        {
            json.WriteNumber(AdapterMessages.SchemaKey, AdapterMessages.Schema);
            json.WriteString(AdapterMessages.CaptureKey, captureSha256);
            WriteNames(json, AdapterMessages.ProgramKey, [device.Framing.Program ?? "", .. device.Framing.Arguments]);
        });
        var adapter = new RecordingAdapter(Start(device), kept);
        using var decoder = new AdapterDecoder(adapter, device);
        while (capture.TryRead(out CaptureRecord record))
        {
            if (record.Kind == CaptureKind.FromDevice) { decoder.Feed(record.Bytes.Span, record.At, new Nobody()); }
        }
        AdapterMessages.Write(kept, json => json.WriteNumber(AdapterMessages.ReadsKey, adapter.Reads));
    }

    public void Dispose() => _process.Dispose();

    internal static byte[] Line(Action<Utf8JsonWriter> write)
    {
        var buffer = new ArrayBufferWriter<byte>();
        using (var json = new Utf8JsonWriter(buffer))
        {
            json.WriteStartObject();
            write(json);
            json.WriteEndObject();
        }
        return buffer.WrittenSpan.ToArray();
    }

    private static AdapterProcess Start(DeviceDescription device)
    {
        FramingSpec framing = device.Framing;
        if (string.IsNullOrEmpty(framing.Program)) { throw new InvalidDataException("framing adapter: no program; expected one"); }
        var process = new AdapterProcess(framing.Program, framing.Arguments);
        try
        {
            process.Ask(Line(json =>
            {
                json.WriteNumber("hello", 1);
                WriteNames(json, "channels", device.Input.Channels.Select(c => c.Name));
                WriteNames(json, "outputs", device.Outputs);
            }), null);
            return process;
        }
        catch
        {
            process.Dispose();
            throw;
        }
    }

    private static void WriteNames(Utf8JsonWriter json, string property, IEnumerable<string> names)
    {
        json.WriteStartArray(property);
        foreach (string name in names) { json.WriteStringValue(name); }
        json.WriteEndArray();
    }

    private sealed class Nobody : IMessageSink
    {
        public void OnMessage(in DeviceMessage message)
        {
        }
    }

    private byte[] Encode(Action<Utf8JsonWriter> request)
    {
        byte[] line = Line(request);
        JsonElement answer = _process.Ask(line, null);
        try { return Convert.FromHexString(answer.GetProperty("bytes").GetString()!); }
        catch (Exception exception) when (exception is KeyNotFoundException or FormatException or InvalidOperationException or ArgumentNullException)
        {
            throw new InvalidDataException(
                $"framing adapter: {_device.Framing.Program} answers {answer.GetRawText()} to {Encoding.UTF8.GetString(line)}; expected \"bytes\" in hexadecimal", exception);
        }
    }
}
