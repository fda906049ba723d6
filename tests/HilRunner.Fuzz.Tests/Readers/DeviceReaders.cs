using System.Text;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Shakers;
using HilRunner.Core.Time;
using HilRunner.Engine.Instruments;
using HilRunner.Engine.Shaking;
using HilRunner.Fuzz.Tests.Running;
using HilRunner.Transport.Decoding;

namespace HilRunner.Fuzz.Tests.Readers;

/// <summary>What comes over links: a device in every framing, an adapter program, a table's controller, a bench supply.</summary>
internal static class DeviceReaders
{
    private static readonly HostClock s_clock = new(TimeProvider.System);
    private static readonly string[] s_framings = ["slip: {crc: CRC-16/KERMIT, type: u8}", "hdlc: {type: u8}",
        "length: {sync: \"A5 5A\", length: u16be, type: u8, crc: CRC-8/SMBUS}", "cobs: {type: u8, max_length: 64}"];

    /// <summary>Rigs of the framings that no rig file of the checkout has.</summary>
    public static IEnumerable<byte[]> MoreRigs => s_framings.Select(framing => DocumentReaders.Utf8("""
        rig: made-up
        device:
          link: {builtin: {model: model.yaml} }
          framing: { FRAMING }
          hears: {sample: {type: 2, fields: [{ax: i16}]}}
          says:
            decisions: {state: {type: 1, fields: [{n: u32}, {class: u8}, {ticks: u32}, {score: f32le}], classes: {mask: 0x07, shift: 3, 0: stopped, 1: normal}}}
            credit: {type: 3, fields: [{n: u16be}]}
            booted: {type: 4, fields: [{version: u64}]}
            sample: {type: 5, fields: [{n: u32}, {ax: f64}]}
          input: {rate: 100 Hz, channels: {ax: {count: 2 mg, range: 4 g}}}
          identity: {ask: {type: 6, fields: []}, answer: {type: 6, fields: [{version: u32}]}}
          clock: {ask: {type: 7, fields: [{token: u32}]}, answer: {type: 7, fields: [{token: u32}, {ticks: u32}]}, bits: 32, tick: 1 us}
        """.Replace("FRAMING", framing, StringComparison.Ordinal)));

    public static IReadOnlyList<Reader> All { get; } =
    [
        // Garbage is counted, never an exception.
        new("device bytes", Form.Bytes, DeviceBytes, (stock, _) =>
        {
            var formats = Rigs(stock).Select(r => new DeviceFormatFactory().Create(r.Device)).ToList();
            return bytes =>
            {
                int chunk = bytes.Length == 0 ? 1 : 1 + bytes[0];
                foreach (var format in formats)
                {
                    using var decoder = format.NewDecoder();
                    for (int at = 0; at < bytes.Length; at += chunk)
                    {
                        decoder.Feed(bytes.AsSpan(at, Math.Min(chunk, bytes.Length - at)), new(1_000_000L * at), Heard.Nothing);
                    }
                }
            };
        }) { Refuses = _ => false },
        new("adapter answers", Form.JsonLines, _ => [AdapterAnswers()], (stock, folder) =>
        {
            string answers = Path.Combine(folder, "answers");
            Rig rig = RigFile.Read(stock.Rig);
            var device =
                rig.Device with { Framing = new(FramingKind.Adapter) { Program = "/bin/sh",
                    Arguments = ["-c", "read asked; echo '{\"done\":true}'; read asked; exec cat \"$0\"", answers] } };
            return bytes =>
            {
                File.WriteAllBytes(answers, bytes);
                using var format = new DeviceFormatFactory().Create(device);
                using var decoder = format.NewDecoder();
                decoder.Feed("bytes of the device"u8, new(1), Heard.Nothing);
                if (decoder.Failure is { } failure) { throw new InvalidDataException(failure); }
            };
        })
        {
            StartsPrograms = true,
            Refuses = fault => fault is InvalidDataException,
        },
        new("controller answers", Form.Table,
            _ => [DocumentReaders.Utf8(
                "id simulated-table 1\nst resting 0.00 0.001\nst armed 0.1 0.01\nst moving -3.25 0.3\nst hot 0 0\n"),
                DocumentReaders.Utf8("id simulated-table 1\nst resting 0 0\ncr 20 0.1 0.2 -0.3\nno too fast\nok 1\n")], (_, _) =>
        {
            Shaker shaker = RigFile.Read(Stock.Checkout("rigs/shaker-sim.yaml")).Shaker!;
            return bytes =>
            {
                using var script = new Script(bytes);
                using var session = new ShakerSession(shaker, _ => script, s_clock, _ => { });
                _ = session.Identify();
                // Until it has no more to say.
                while (!script.Ended) { _ = session.Status(); }
            };
        })
        {
            Refuses = fault => fault is ShakerException,
        },
        new("supply answers", Form.Table,
            _ => [DocumentReaders.Utf8(
                "maker,model,1,2\n0,\"No error\"\n0,\"No error\"\n0\n0.01\n3.30000E+00\n1.0E-1\n0,\"No error\"\n0.02\n3.301\n"),
                DocumentReaders.Utf8("maker,model,1,2\n+0\n-113,\"Undefined header\"\n")], (_, _) =>
        {
            var supply = new Supply(new PtyLinkSpec("unused"), 3.3, 0.1, new(3, 3.6, 0.2)) { Identity = "^maker" };
            return bytes =>
            {
                using var session = new ScpiSession(new Script(bytes, questionsOnly: true), s_clock, _ => { });
                session.Start();
                SupplySwitch.On(supply, session);
            };
        })
        {
            Refuses = fault => fault is LinkException,
        },
    ];

    private static IEnumerable<Rig> Rigs(Stock stock) =>
    [
        RigFile.Read(stock.Rig),
        .. ((string[])["serial-text", "serial-binary", "virtual-cobs", "virtual-activity"]).Select(
            n => RigFile.Read(Stock.Checkout($"rigs/{n}.yaml"))),
        .. MoreRigs.Select(text => RigFile.Parse(Encoding.UTF8.GetString(text), "rigs/made-up.yaml")),
    ];

    /// <summary>
    /// What the devices of the rigs say, in their framings: messages of each, framed by the tool's own framers.
    /// </summary>
    private static IEnumerable<byte[]> DeviceBytes(Stock stock)
    {
        yield return DocumentReaders.Utf8(
            "boot 1.0.0\nid parcel-tag 1.0.0 0123abcd\nt 1 1000\nk 12\nc 12 resting\nc 140 carried 1400000 0.93\nd 1 -12 3 988\nd 2 -13 4 987\nt 2 2001000\n");
        foreach (var rig in Rigs(stock).Where(r => r.Device.Framing.Kind != FramingKind.Lines))
        {
            var codec = Transport.Framing.FramingCodec.Create(rig.Device.Framing);
            var random = new Random(1);
            var said = new List<byte>();
            foreach (byte type in (byte[])[1, 3, 4, 5, 6, 7, 0x10, 0x11, 0x12, 0x14, 0x82, 0x83, 0x84, 0x85, 0x88, 0x89])
            {
                byte[] body = new byte[random.Next(4, 24)];
                random.NextBytes(body);
                body[0] = type;
                said.AddRange(codec.Frame(body));
            }
            yield return [.. said];
        }
    }

    private static byte[] AdapterAnswers() => DocumentReaders.Utf8("""
        {"message":"decision","output":"handling","class":"carried","n":12,"ticks":1200,"score":0.9,"first":0,"last":4}
        {"message":"credit","n":12,"first":5,"last":6}
        {"message":"sample","n":1,"values":[1,2,3.5],"first":7,"last":8}
        {"message":"identity","fields":{"product":"tag","version":"1"},"first":9,"last":10}
        {"message":"clock","token":7,"ticks":99,"first":11,"last":12}
        {"done":true,"bad":0,"unknown":1,"discarded":2}

        """);

    private sealed class Heard : IMessageSink
    {
        public static readonly Heard Nothing = new();

        public void OnMessage(in DeviceMessage message)
        {
        }
    }

    /// <summary>
    /// A link whose other end says one line of the case at each thing that it hears, and is gone after the last.
    /// </summary>
    /// <param name="questionsOnly">It hears no more than what ends in a question mark.</param>
    private sealed class Script(byte[] said, bool questionsOnly = false) : ILink
    {
        private ILinkReceiver? _receiver;
        private int _at;

        public string Name => "script";

        public bool Ended => _at == said.Length;

        public void Start(ILinkReceiver receiver) => _receiver = receiver;

        public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit)
        {
            if (questionsOnly && !bytes.EndsWith("?\n"u8)) { return s_clock.Now; }
            int end = Array.IndexOf(said, (byte)'\n', _at) is var n && n < 0 ? said.Length : n + 1;
            if (end == _at) { _receiver!.OnLost(new(LinkFault.Lost, "gone"), s_clock.Now); }
            else { _receiver!.OnReceived(said.AsSpan(_at..end), s_clock.Now); }
            // Half a line is no answer, and nothing comes after it.
            if (end == said.Length && end > _at && said[^1] != '\n')
            {
                _receiver!.OnLost(new(LinkFault.Lost, "gone"), s_clock.Now);
            }
            _at = end;
            return s_clock.Now;
        }

        public void Dispose()
        {
        }
    }
}
