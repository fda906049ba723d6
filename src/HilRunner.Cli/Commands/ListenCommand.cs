using System.CommandLine;
using System.Globalization;
using System.Text;
using HilRunner.Application.Benches;
using HilRunner.Cli.Screen.Terminals;
using HilRunner.Core.Links;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;

namespace HilRunner.Cli.Commands;

/// <summary>Raw and decoded traffic, live. Sends nothing.</summary>
internal static class ListenCommand
{
    private static readonly Option<string> s_rig = new("--rig") { Description = "The rig file.", Required = true };
    private static readonly Option<string?> s_link = new("--link") { Description = "Another link than the rig's." };
    private static readonly Option<string?> s_for = new("--for") { Description = "Stop after this time, for instance 10s." };

    public static Command Create()
    {
        var command = new Command(
            "listen",
            """
            Shows what a device says, raw and decoded, until interrupted. Sends nothing.

            Example:
              hil listen --rig rigs/serial-text.yaml --for 10s
            """)
        { s_rig, s_link, s_for };
        command.SetAction(ListenAsync);
        return command;
    }

    private static async Task<int> ListenAsync(ParseResult parsed, CancellationToken stop)
    {
        var rig = RigFiles.Read(parsed.GetValue(s_rig)!, parsed.GetValue(s_link));
        using var format = Composition.Context.Formats.Create(rig.Device);
        using var decoder = format.NewDecoder();
        using ILink link = Composition.Context.Links.Open(rig.Device.Link);
        using var over = CancellationTokenSource.CreateLinkedTokenSource(stop, Terminal.ReaderGone);
        if (parsed.GetValue(s_for) is { } time) { over.CancelAfter(Options.Duration("--for", time)); }
        var listener = new Listener(decoder, rig.Device, Composition.Clock.Now, over);
        link.Start(listener);
        Console.Error.WriteLine($"listening to {link.Name}; interrupt to stop");
        try { await Task.Delay(Timeout.InfiniteTimeSpan, Composition.Clock.Provider, over.Token).ConfigureAwait(false); }
        catch (OperationCanceledException)
        {
            // The end that was asked for, or the link's.
        }
        var counts = decoder.Counts;
        Console.Error.WriteLine($"understood: {counts.Messages}; unknown: {counts.LinesUnknown}; damaged: {counts.FramesBad}; bytes outside frames: {counts.BytesDiscarded}");
        return listener.Lost is { } lost ? throw lost : ExitCodes.Pass;
    }

    private sealed class Listener(IDeviceDecoder decoder, DeviceDescription device, HostTime start, CancellationTokenSource over)
        : ILinkReceiver, IMessageSink
    {
        public LinkException? Lost { get; private set; }

        public void OnReceived(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            // Line by line where there are lines, so that a person sees which of them was understood.
            while (bytes.Length > 0)
            {
                int end = device.Framing.Kind == FramingKind.Lines ? bytes.IndexOf((byte)'\n') : -1;
                int length = end < 0 ? bytes.Length : end + 1;
                Show(bytes[..length], arrival);
                bytes = bytes[length..];
            }
        }

        private void Show(ReadOnlySpan<byte> bytes, HostTime arrival)
        {
            var before = decoder.Counts;
            Console.Out.WriteLine($"{Seconds(arrival)}  < {Printable(bytes)}");
            decoder.Feed(bytes, arrival, this);
            var after = decoder.Counts;
            if (after.LinesUnknown > before.LinesUnknown) { Console.Out.WriteLine($"{Seconds(arrival)}    unknown: fits no pattern of this rig"); }
            if (after.FramesBad > before.FramesBad) { Console.Out.WriteLine($"{Seconds(arrival)}    damaged"); }
        }

        public void OnLost(LinkException cause, HostTime at)
        {
            Lost = cause;
            over.Cancel();
        }

        public void OnMessage(in DeviceMessage message)
        {
            var text = new StringBuilder($"{Seconds(message.FirstByte)}    {message.Kind.ToString().ToLowerInvariant()}");
            if (message.Kind == MessageKind.Decision && device.Outputs[message.Output].Length > 0) { text.Append($" {device.Outputs[message.Output]}"); }
            if (message.Class is { } name) { text.Append($" {name}"); }
            if (message.UnknownClass is { } unknown) { text.Append($" {unknown} (no class of this rig)"); }
            if (message.N is { } n) { text.Append(CultureInfo.InvariantCulture, $" n={n}"); }
            if (message.Ticks is { } ticks) { text.Append(CultureInfo.InvariantCulture, $" device_clock={ticks}"); }
            if (message.Confidence is { } confidence) { text.Append(CultureInfo.InvariantCulture, $" confidence={confidence}"); }
            foreach (var (key, value) in message.Fields ?? new Dictionary<string, string>()) { text.Append($" {key}={value}"); }
            Console.Out.WriteLine(text);
        }

        private string Seconds(HostTime at) => ((at - start) / 1e9).ToString("0.000000", CultureInfo.InvariantCulture).PadLeft(12);

        private static string Printable(ReadOnlySpan<byte> bytes)
        {
            var text = new StringBuilder();
            foreach (byte b in bytes)
            {
                text.Append(b switch
                {
                    (byte)'\n' => "\\n",
                    (byte)'\r' => "\\r",
                    (byte)'\\' => "\\\\",
                    >= 0x20 and < 0x7f => ((char)b).ToString(),
                    _ => $"\\x{b:x2}",
                });
            }
            return text.ToString();
        }
    }
}
