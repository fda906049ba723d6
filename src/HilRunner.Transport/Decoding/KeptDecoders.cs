using System.Text.Json;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;

namespace HilRunner.Transport.Decoding;

/// <summary>Decodes by what an adapter said before.</summary>
/// <param name="path">messages.jsonl.</param>
internal sealed class KeptDecoders(DeviceDescription device, string path, string captureSha256) : IDecoderSource
{
    public IDeviceDecoder NewDecoder() => new AdapterDecoder(new KeptAdapter(path, captureSha256), device);

    public void Dispose()
    {
    }
}

/// <summary>Of a run without a capture: nothing is asked.</summary>
internal sealed class NoDecoders(DeviceDescription device) : IDecoderSource
{
    public IDeviceDecoder NewDecoder() => new AdapterDecoder(new Silent(), device);

    public void Dispose()
    {
    }

    private sealed class Silent : IAdapter
    {
        public JsonElement Ask(ReadOnlySpan<byte> request, Action<JsonElement>? onLine) =>
            throw new InvalidDataException("framing adapter: nothing was kept of what it said");

        public void Dispose()
        {
        }
    }
}
