// Bytes of chosen files, as siteplan is sent them.

// The file in base64.
export function base64(file) {
    return new Promise((resolve, reject) => {
        const reader = new FileReader();
        reader.onload = () => resolve(reader.result.slice(reader.result.indexOf(",") + 1));
        reader.onerror = () => reject(reader.error);
        reader.readAsDataURL(file);
    });
}

export const megabytes = (bytes) => `${(bytes / 1e6).toFixed(1)} MB`;
