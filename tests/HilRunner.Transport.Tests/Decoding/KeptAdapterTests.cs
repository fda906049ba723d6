using HilRunner.Core;
using HilRunner.Core.Capture;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Capture;
using HilRunner.Transport.Decoding;
using HilRunner.Transport.Tests.Framing;

namespace HilRunner.Transport.Tests.Decoding;

/// <summary>What an adapter said of a capture is kept, and decodes it again without the program.</summary>
public class KeptAdapterTests
{
    private const string Hash = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";

    /// <summary>Says a decision for each byte that is a letter, one bad frame for each '!', and goes at the first '#'.</summary>
    private const string Program = """
        import sys, json
        place = 0
        for text in sys.stdin:
            request = json.loads(text)
            data = bytes.fromhex(request.get("decode", ""))
            if b"#" in data:
                sys.exit("a bad day")
            for i, byte in enumerate(data):
                if chr(byte).isalpha():
                    print(json.dumps({"message": "decision", "class": chr(byte), "n": place + i, "first": place + i, "last": place + i}))
            place += len(data)
            print(json.dumps({"done": True, "bad": data.count(b"!")} if b"!" in data else {"done": True}), flush=True)
        """;

    [TestCase("ab..c!.....d.")]
    [TestCase("ab.!!...#..def")]
    public void WhatWasKeptDecodesAsTheProgramDid(string said)
    {
        using var folder = TestPaths.NewFolder();
        string capture = WriteCapture(folder, said), messages = folder.File("messages.jsonl");
        DeviceDescription device = Device(Python.Path, "-c", Program);
        var store = new CaptureStore();
        string hash = store.Sha256(capture);
        var factory = new DeviceFormatFactory();
        using (var reader = store.Open(capture))
        using (var stream = File.Create(messages)) { factory.Keep(device, reader, hash, stream); }
        using IDeviceFormat program = factory.Create(device);
        var (live, counts, failure) = Decoded(program, store.Open(capture));
        Assert.That(live, Is.Not.Empty);
        // The program is gone, and not missed.
        using IDecoderSource kept = factory.Kept(Device("/no/such/program"), messages, hash);
        var again = Decoded(kept, store.Open(capture));
        Assert.That(again.Messages, Is.EqualTo(live));
        Assert.That(again.Counts, Is.EqualTo(counts));
        Assert.That(again.Failure, Is.EqualTo(failure));
        Assert.That(failure, said.Contains('#') ? Does.Contain("a bad day") : Is.Null);
    }

    [TestCase("{\"schema\":2,\"capture_sha256\":\"H\"}\n{\"reads\":2}\n", ":1: no schema 1")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"ff\"}\n{\"reads\":2}\n", ":1: messages of a capture with SHA-256 that is none")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":0,\"done\":{}}\n", ":3: the file ends here")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"reads\":1}\n", ":2: messages of 1 reads")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n[]\n", ":2: no JSON object")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":0}\n{\"reads\":2}\n", ":2: neither message, done nor failed")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":0,\"message\":{\"message\":\"decision\",\"class\":\"a\",\"first\":0,\"last\":9}}\n{\"reads\":2}\n", ":2: a message from byte 0 to 9")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":0,\"message\":{\"message\":\"sample\",\"values\":[1],\"first\":0,\"last\":0}}\n{\"reads\":2}\n", ":2: 1 values in a sample message")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":0,\"message\":{\"first\":0}}\n{\"reads\":2}\n", ":2: ")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":1,\"done\":{}}\n{\"read\":0,\"done\":{}}\n{\"reads\":2}\n", "")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"reads\":7}\n", ":2: messages of 7 reads")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"read\":5,\"done\":{}}\n{\"reads\":6}\n",
        ":2: messages of a read that the capture does not have")]
    [TestCase("{\"schema\":1,\"capture_sha256\":\"H\"}\n{\"reads\":3}\n{\"reads\":3}\n", ":2: more after its last line")]
    [TestCase("{\"read\":0", ":1: the file ends here")]
    public void WhatIsWrongInTheFileIsBadInputWithItsLine(string text, string says)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("messages.jsonl"), text.Replace("H", Hash));
        using IDecoderSource kept =
            new DeviceFormatFactory().Kept(Device("/no/such/program"), folder.File("messages.jsonl"), Hash);
        Assert.That(() =>
        {
            using var decoder = kept.NewDecoder();
            Messages.Decode(decoder, "abc"u8, 1);
            decoder.Finish();
        }, Throws.TypeOf<BadInputException>().With.Message.Contains(
            "messages.jsonl" + says).And.Message.Contains("--run-adapter"));
    }

    private static (List<(string?, long?, HostTime, HostTime)> Messages, DecoderCounts Counts, string? Failure) Decoded(
        IDecoderSource source, ICaptureReader capture)
    {
        using IDeviceDecoder decoder = source.NewDecoder();
        using (capture)
        {
            var read = new Messages();
            while (capture.TryRead(out var record))
            {
                if (record.Kind == CaptureKind.FromDevice) { decoder.Feed(record.Bytes.Span, record.At, read); }
            }
            return ([.. read.All.Select(m => (m.Class, m.N, m.FirstByte, m.LastByte))], decoder.Counts, decoder.Failure);
        }
    }

    private static string WriteCapture(TemporaryFolder folder, string said)
    {
        string path = folder.File("link.pcapng");
        using var writer = new CaptureStore().Create(path, new HostClock(TimeProvider.System));
        for (int at = 0; at < said.Length; at += 2)
        {
            writer.Bytes(CaptureKind.FromDevice, new(1000 + at),
                System.Text.Encoding.ASCII.GetBytes(said[at..Math.Min(at + 2, said.Length)]));
        }
        return path;
    }

    private static DeviceDescription Device(string program, params string[] arguments) =>
        Devices.Lines with { Framing = new(FramingKind.Adapter) { Program = program, Arguments = arguments } };
}
